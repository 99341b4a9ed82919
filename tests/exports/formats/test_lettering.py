"""What is written into PDF pages in place of reportlab's own functions: the same letters."""

import random

from reportlab.lib.rl_accel import asciiBase85Encode, fp_str

from plumbcut.exports.formats.lettering import ascii85, number


def test_streams_are_encoded_as_reportlab_encodes_them():
    lot = random.Random(5)
    for size in (*range(12), 400, 4001):
        data = lot.randbytes(size)
        for given in (data, bytes(size), data + bytes(9), bytes(8) + data):
            assert ascii85(given) == asciiBase85Encode(given)


def test_numbers_are_written_as_reportlab_writes_them():
    lot = random.Random(5)
    some = [
        0.0,
        -0.0,
        1.0,
        -1.0,
        0.5,
        -0.5,
        10.0,
        100000.0,
        999999.5,
        1234567.0,
        1e-7,
        2e-7,
        -3e-6,
        9.9999995,
        0.99999999,
    ]
    some += [lot.choice((-1, 1)) * 10 ** lot.uniform(-8, 7) for _ in range(2000)]
    assert [number(v) for v in some] == [fp_str(v) for v in some]
