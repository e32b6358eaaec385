"""Reading and writing whole small files: a failure is one clear sentence, and nothing is half-written."""

import os
from pathlib import Path

from tuner.errors import OutputError


def read_text(path, error, what):
    """Return the text of a UTF-8 file.

    path : str or Path
    error : TunerError subclass to raise
    what : str, what the file should be ("a settings file"), for the message

    Raises error if the file is missing, is a folder, may not be read or is not UTF-8 text.
    """
    try:
        return Path(path).read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise error(f"{path}: there is no such file.\nCheck the name; {what} is needed here.") from None
    except IsADirectoryError:
        raise error(f"{path}: this is a folder.\nName {what} inside it.") from None
    except UnicodeDecodeError as fault:
        byte = fault.object[fault.start]
        raise error(
            f"{path}: byte {fault.start + 1} (0x{byte:02X}) is not UTF-8 text.\n"
            f"Save {what} as plain UTF-8 text, or check that this is the right file."
        ) from None
    except OSError as fault:
        if Path(path).is_dir():  # Windows answers "permission denied" for a folder
            raise error(f"{path}: this is a folder.\nName {what} inside it.") from None
        raise error(f"{path}: cannot be read ({fault.strerror}).\nCheck the file's permissions.") from None


def write_whole(path, data):
    """Write data to path through a temporary file beside it: the old file or the new, never half.

    data : str, bytes, or an iterable of str for what is too large to build at once
    Raises OutputError if the folder is missing or may not be written to.
    """
    path = Path(path)
    pieces = [data] if isinstance(data, (str, bytes)) else data
    spare = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        if path.is_dir():
            raise IsADirectoryError
        with spare.open("wb") as file:
            for piece in pieces:
                file.write(piece.encode("utf-8") if isinstance(piece, str) else piece)
        os.replace(spare, path)
    except IsADirectoryError:
        raise OutputError(f"{path}: this is a folder.\nName a file to write.") from None
    except (FileNotFoundError, NotADirectoryError):
        raise OutputError(f"{path}: its folder does not exist.\nMake the folder first, or name another.") from None
    except OSError as fault:
        raise OutputError(
            f"{path}: cannot be written ({fault.strerror}).\nCheck the folder's permissions and free space."
        ) from None
    finally:
        spare.unlink(missing_ok=True) if spare.parent.is_dir() else None


def check_writable(paths, inputs=()):
    """Refuse, before any long work, outputs that could not be written or must not be: no folder, twice, an input.

    paths : iterable of str, Path or None; inputs : iterable of str or Path that the same command reads
    Raises OutputError.
    """
    seen = set()
    read = {Path(one).resolve() for one in inputs}
    for path in (Path(one) for one in paths if one is not None):
        if path.is_dir():
            raise OutputError(f"{path}: this is a folder.\nName a file to write.")
        if not path.absolute().parent.is_dir():
            raise OutputError(f"{path}: its folder does not exist.\nMake the folder first, or name another.")
        if path.resolve() in seen:
            raise OutputError(f"{path}: named twice as an output.\nGive each output a file of its own.")
        if path.resolve() in read:
            raise OutputError(f"{path}: would be written over, and it is read here.\nName another file to write.")
        seen.add(path.resolve())


def make_folder(path):
    """Make the folder path (and those above it) and return it as a Path. Raises OutputError."""
    path = Path(path)
    try:
        path.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise OutputError(f"{path}: this is a file.\nName a folder to write into.") from None
    except OSError as fault:
        raise OutputError(f"{path}: cannot be made ({fault.strerror}).\nCheck the permissions.") from None
    return path
