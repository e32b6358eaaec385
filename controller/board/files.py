"""Commands that send what is on flash.

What lives here: the log's blocks and the events as lines. What never does: a deletion, or a change of any kind.
A block goes out as "FILE OFFSET BASE64", base64 of the block as core.thin made it; FILE is "memory" for the rows that
are not on flash yet. The next pull starts where the last block of flash ended.
"""

import binascii


def journal(board, words, text):
    """The files."""
    total = 0
    numbers = board.journal.numbers()
    for number in numbers:
        size = board.journal.size(number)
        total += size
        yield "%d: %d bytes" % (number, size)
    yield "ok %d files, %d bytes, %d rows not yet written" % (len(numbers), total, board.journal.held)


def cursor(text):
    """Return (file, offset) of "FILE" or "FILE:OFFSET". Raises ValueError."""
    parts = text.split(":")
    if len(parts) > 2 or not all([part.isdigit() for part in parts]):
        raise ValueError("%s is no place in the log. Write FILE or FILE:OFFSET as an answer gave it." % text[:20])
    return int(parts[0]), int(parts[1]) if len(parts) == 2 else 0


def encoded(block):
    """Return a block for the wire."""
    return binascii.b2a_base64(block).decode().strip()


def send(board, words, text):
    """Every block from a place on, and then the rows in memory; with a number of blocks, no more than those.

    A host that asks for a few at a time loses little when its lead is pulled.
    """
    first, offset = cursor(words[0]) if words else (0, 0)
    most = int(words[1]) if len(words) > 1 and words[1].isdigit() else 0
    blocks = skipped = 0
    place = (first, offset)
    for number in board.journal.numbers():
        if number < first:
            continue
        start = offset if number == first else 0
        place = (number, start)
        for where, block, passed in board.journal.read(number, start):
            if block is None:
                yield None
                continue
            skipped += passed
            if block:
                if most and blocks == most:
                    yield "ok %d blocks, %d spoilt bytes, next %d:%d, more" % (blocks, skipped, place[0], place[1])
                    return
                blocks += 1
                yield "%d %d %s" % (number, where, encoded(block))
                place = (number, where + 2 + len(block))
    for block in board.journal.blocks():
        yield "memory 0 " + encoded(block)
    yield "ok %d blocks, %d spoilt bytes, next %d:%d" % (blocks, skipped, place[0], place[1])


def events(board, words, text):
    """The events."""
    n = 0
    for line in board.events.lines():
        n += 1
        yield line
    yield "ok %d events" % n
