"""A block of the log made thinner for flash and wire: each row as what differs from the row before.

What lives here: thin and thick, each the other's inverse. What never does: what the bytes mean (record).
A thin block: its head, its first row, then for each further row 16 bits (low byte first) that say which of its bytes
differ and those bytes, then the CRC. Its first byte is THIN instead of "L". Minutes shrink to about half; a block that
would grow is left as it is, so a row never takes more than its packed bytes.
"""

from controller.core.record import CRC_BYTES, HEAD_BYTES, ROW_BYTES, block_length

THICK, THIN = 0x4C, 0x6C  # the first byte


def thin(block):
    """Return one whole block (record.pack_block) made thinner, or as it is where that would not help."""
    body = len(block) - CRC_BYTES
    out = bytearray(block[: HEAD_BYTES + ROW_BYTES])
    changed = bytearray(ROW_BYTES)
    for place in range(HEAD_BYTES + ROW_BYTES, body, ROW_BYTES):
        mask, n = 0, 0
        for i in range(ROW_BYTES):
            byte = block[place + i]
            if byte != block[place + i - ROW_BYTES]:
                mask |= 1 << i
                changed[n] = byte
                n += 1
        out.append(mask & 0xFF)
        out.append(mask >> 8)
        out.extend(changed[:n])
    out.extend(block[body:])
    out[0] = THIN
    return bytes(out) if len(out) < len(block) else bytes(block)


def thick(data):
    """Return the block that thin() had, or b"" when data is not what it returns. The CRC is not checked here."""
    if len(data) < HEAD_BYTES + ROW_BYTES + CRC_BYTES or data[2] == 0 or data[0] not in (THICK, THIN):
        return b""
    if data[0] == THICK:
        return bytes(data) if block_length(data) == len(data) else b""
    out = bytearray(data[: HEAD_BYTES + ROW_BYTES])
    out[0] = THICK
    place = HEAD_BYTES + ROW_BYTES
    for _ in range(data[2] - 1):
        if place + 2 > len(data):
            return b""
        mask = data[place] | data[place + 1] << 8
        place += 2
        before = len(out) - ROW_BYTES
        for i in range(ROW_BYTES):
            if mask >> i & 1:
                if place >= len(data):
                    return b""
                out.append(data[place])
                place += 1
            else:
                out.append(out[before + i])
    tail = data[place:]
    return bytes(out) + bytes(tail) if len(tail) == CRC_BYTES else b""
