"""Does a block made thinner come back byte for byte, and is damaged data answered with nothing?"""

from hypothesis import given
from hypothesis import strategies as st

from controller.core import record, thin

ROWS = st.lists(st.binary(min_size=16, max_size=16), min_size=1, max_size=20)


def block_of(rows):
    """Return a whole block of packed rows."""
    first = record.Row(9000, 3600, 60, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)
    return record.pack_block(first, rows)


@given(ROWS)
def test_thin_and_thick_are_inverse_and_never_longer(rows):
    block = block_of(rows)
    thinner = thin.thin(block)
    assert thin.thick(thinner) == block
    assert len(thinner) <= len(block)


def test_equal_rows_shrink_to_two_bytes_each():
    row = bytes(range(16))
    block = block_of([row] * 60)
    thinner = thin.thin(block)
    assert thinner[0] == thin.THIN and thinner[1:32] == block[1:32]
    assert len(thinner) == record.HEAD_BYTES + 16 + 59 * 2 + record.CRC_BYTES
    assert thinner[32:34] == b"\0\0" and thinner[-2:] == block[-2:]


def test_changed_bytes_are_named_lowest_bit_first():
    block = block_of([bytes(16), bytes(14) + b"\x07\0", bytes([5]) + bytes(13) + b"\x07\0"])
    assert thin.thin(block)[32:-2] == b"\x00\x40\x07" + b"\x01\x00\x05"


def test_a_block_that_would_grow_is_left_as_it_is():
    block = block_of([bytes([n] * 16) for n in range(4)])
    assert thin.thin(block) == block
    # Of equal length: not thinner, so left alone.
    block = block_of([bytes(16), bytes([1] * 14) + b"\0\0"])
    assert thin.thin(block) == block


def test_what_thin_never_returns_gives_nothing():
    block = block_of([bytes(16)] * 3)
    thinner = thin.thin(block)
    assert thin.thick(block) == block
    assert thin.thick(bytes([thin.THIN, 1])) == b""
    assert thin.thick(b"") == thin.thick(thinner[:33]) == thin.thick(thinner[:34]) == b""
    assert thin.thick(thinner + b"\0") == thin.thick(thinner[:-1]) == thin.thick(block + b"\0") == b""
    assert thin.thick(b"\x4b" + thinner[1:]) == b""
    assert thin.thick(thinner[:2] + b"\0" + thinner[3:]) == b""
    # A byte is announced that is not there.
    assert thin.thick(thinner[:32] + b"\x00\x00\xff\xff") == b""
    one = thin.thin(block_of([bytes(16)]))
    assert thin.thick(one) == one


@given(st.binary(max_size=120), st.integers(0, 5))
def test_rubbish_is_never_an_error(data, rows):
    for kind in (thin.THIN, thin.THICK):
        thin.thick(bytes([kind, 1, rows]) + data)
