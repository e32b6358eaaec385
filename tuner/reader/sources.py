"""From paths to lines of text: which files, how they are packed, which encoding. Knows nothing of columns.

A file is read in blocks of a few megabytes, so that one larger than memory is never held whole. What is not text
is refused here, by name.
"""

import codecs
import glob
import gzip
import re
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tuner.errors import LogError

BLOCK_BYTES = 4_000_000
HEAD_BYTES = 65_536
LONGEST_LINE_BYTES = 1_000_000

# How files begin that people rename to .csv. Source: the file signatures in each format's own specification.
_SIGNATURES = (
    (b"\x89PNG\r\n\x1a\n", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"BM", "a picture (BMP)"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a spreadsheet or zip archive"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet or document"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
    (b"BZh", "a bzip2 archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"\xfd7zXZ", "an xz archive"),
    (b"SQLite format 3", "a database"),
)
_TEXT_CONTROLS = frozenset(b"\t\n\r\x0b\x0c\x1a\x1b\0")


@dataclass(frozen=True)
class Block:
    """Whole lines of one file. first_line counts from 1; text is UTF-8, lines end in \\n (the last may not)."""

    first_line: int
    text: bytes


def expand(paths):
    """Return the files meant by paths (names or globs), sorted within a glob, each once, as a list of Path.

    Raises LogError for a pattern that matches nothing, a folder, or no path at all.
    """
    if isinstance(paths, str | Path):
        paths = [paths]
    found = []
    for given in paths:
        name = str(given)
        if "\0" in name or not name:
            raise LogError(f"{name!r} is not a file name.\nName a log file, such as march.csv.")
        if Path(name).exists():
            matches = [name]
        elif glob.has_magic(name):
            matches = sorted(glob.glob(name, recursive=True))
            if not matches:
                raise LogError(f'No file matches "{name}".\nCheck the folder and the pattern.')
        else:
            raise LogError(f"{name}: there is no such file.\nCheck the name; a pattern such as *.csv works too.")
        found += [path for path in map(Path, matches) if path not in found]
    if not found:
        raise LogError("No log file was named.\nName one or more CSV files.")
    for path in found:
        if path.is_dir():
            raise LogError(f'{path} is a folder.\nName the files in it, for example "{path}/*.csv".')
    return found


def _open(path) -> Any:
    """Open path once for reading bytes; return (the stream, unpacked where its first bytes say gzip, the raw file)."""
    try:
        raw = open(path, "rb")  # noqa: SIM115 - closed by blocks()
        packed = raw.peek(2)[:2] == b"\x1f\x8b"
    except OSError as error:
        raise LogError(
            f"{path}: cannot be read ({error.strerror or error}).\nCheck that the file is there and that "
            "you may read it."
        ) from None
    return (gzip.GzipFile(fileobj=raw, mode="rb") if packed else raw), raw


def _place(raw):
    """Return how many bytes of a file were read; 0 for a pipe, which does not tell."""
    try:
        return raw.tell()
    except OSError:
        return 0


def _chunks(path, stream):
    """Yield the bytes of an open file; a damaged gzip becomes a LogError."""
    while True:
        try:
            chunk = stream.read(BLOCK_BYTES)
        except EOFError:
            raise LogError(
                f"{path}: the gzip file is cut short.\nCopy it again, or unpack what is left of it with "
                "gzip and read that."
            ) from None
        except (gzip.BadGzipFile, zlib.error) as error:
            raise LogError(
                f"{path}: the gzip file is damaged ({error}).\nCopy it again from where it was written."
            ) from None
        except OSError as error:
            raise LogError(
                f"{path}: reading failed ({error.strerror or error}).\nCopy the file to a disk that can be read whole."
            ) from None
        if not chunk:
            return
        yield chunk


def encoding_of(head):
    """Return the encoding that the first bytes of a text file speak for, as a Python codec name.

    "utf-8" where nothing speaks against it. UTF-16 without a byte-order mark is known by its many zero bytes on
    one side of each pair.
    """
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF32_LE, "utf-32"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if head.startswith(mark):
            return name
    start = head[:2000]
    half = len(start) // 2
    if half >= 8:
        zero_even, zero_odd = start[0::2].count(0), start[1::2].count(0)
        if zero_odd > 0.8 * half and zero_even < 0.2 * half:
            return "utf-16-le"
        if zero_even > 0.8 * half and zero_odd < 0.2 * half:
            return "utf-16-be"
    return "utf-8"


def refuse_what_is_not_text(path, head, encoding):
    """Raise LogError when the first bytes are those of a picture, archive, program or other binary file."""
    if encoding.startswith(("utf-16", "utf-32")):
        return
    for mark, what in _SIGNATURES:
        if head.startswith(mark) and (len(mark) > 2 or b"," not in head[:200]):
            raise LogError(f"{path} is {what}, not a text file.\nSave or export the log as CSV and name that file.")
    control = sum(1 for byte in head if byte < 32 and byte not in _TEXT_CONTROLS)
    if control > len(head) // 100:
        raise LogError(f"{path} is not a text file.\nSave or export the log as CSV and name that file.")


def _plain_text(raw):
    """Return raw (bytes in UTF-8 or an 8-bit Western encoding) as UTF-8 with \\n line ends."""
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError:
        raw = raw.decode("latin-1").encode("utf-8")
    if b"\r" in raw:
        # A file converted twice has \r\r\n; a lone \r also ended lines once.
        raw = re.sub(rb"\r+\n", b"\n", raw).replace(b"\r", b"\n")
    return raw


def _utf8(path, chunks, encoding):
    """Yield chunks as UTF-8 bytes (8-bit encodings are left as they are; _plain_text sees to them)."""
    if encoding == "utf-8":
        yield from chunks
        return
    decoder = codecs.getincrementaldecoder(encoding)(errors="strict" if encoding != "utf-8-sig" else "replace")
    try:
        for chunk in chunks:
            yield decoder.decode(chunk).encode("utf-8", "replace")
        yield decoder.decode(b"", final=True).encode("utf-8", "replace")
    except UnicodeDecodeError as error:
        raise LogError(
            f"{path}: the text breaks off or is damaged ({error.encoding}, {error.reason}).\nCopy the "
            "file again, or save it as UTF-8."
        ) from None


def blocks(path, progress=None):
    """Yield the file's Blocks in order.

    path : Path. progress : callable taking the number of bytes of the file read so far, or None.
    Runs of NUL bytes, which a power cut leaves on an SD card, are drawn together to one.
    Raises LogError for what cannot be read or is not text.
    """
    stream, raw = _open(path)
    with raw, stream:
        chunks = _chunks(path, stream)
        head = next(chunks, b"")
        encoding = encoding_of(head[:HEAD_BYTES])
        refuse_what_is_not_text(path, head[:HEAD_BYTES], encoding)
        line, kept = 1, b""
        for chunk in _utf8(path, _chain(head, chunks), encoding):
            if progress:
                progress(_place(raw))
            kept += re.sub(rb"\0+", b"\0", chunk) if b"\0" in chunk else chunk
            cut = max(kept.rfind(b"\n"), kept.rfind(b"\r", 0, -1)) + 1
            if not cut:
                if len(kept) > LONGEST_LINE_BYTES:
                    raise LogError(
                        f"{path}, line {line}: the line is longer than {LONGEST_LINE_BYTES:,} bytes.\n"
                        "This is not a log; name a CSV file with one reading a line."
                    )
                continue
            text, kept = _plain_text(kept[:cut]), kept[cut:]
            yield Block(line, text)
            line += text.count(b"\n")
        if kept:
            yield Block(line, _plain_text(kept))


def _chain(first, rest):
    yield first
    yield from rest
