"""A block of the log made thinner for the wire: each row as what differs from the row before.

What lives here: thin and thick, each the other's inverse. What never does: what the bytes mean (record).
A thin block: its head, its first row, then for each further row 16 bits (low byte first) that say which of its bytes
differ and those bytes, then the CRC. A month of minutes shrinks to about half.
"""

from controller.core.record import CRC_BYTES, HEAD_BYTES, ROW_BYTES


def thin(block):
    """Return one whole block (record.pack_block) made thinner."""
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
    return bytes(out)


def thick(data):
    """Return the block that was made thinner, or b"" when data is not one thin block. The CRC is not checked here."""
    if len(data) < HEAD_BYTES + ROW_BYTES + CRC_BYTES or data[2] == 0:
        return b""
    out = bytearray(data[: HEAD_BYTES + ROW_BYTES])
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
