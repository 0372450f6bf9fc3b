"""A screenshot written again with a palette: about a third of the bytes, and no colour visibly another.

Reads what Chromium writes (eight bits a channel, RGB or RGBA, not interlaced) by the rules of the PNG
specification (W3C, third edition): sections 9.2 filter types, 11.2 critical chunks.
"""

import struct
import zlib

import numba
import numpy as np
from numpy.typing import NDArray

SIGNATURE = b"\x89PNG\r\n\x1a\n"
CHANNELS = {2: 3, 6: 4}
COLOURS = 256

Bytes = NDArray[np.uint8]


def small_png(content: bytes) -> bytes:
    """The same picture in at most 256 colours."""
    pixels = read_png(content)
    palette, indexes = reduced(pixels)
    return write_png(palette, indexes)


def read_png(content: bytes) -> Bytes:
    """Pixels (height, width, 3) of a PNG."""
    if not content.startswith(SIGNATURE):
        raise ValueError("no PNG")
    place, packed, header = len(SIGNATURE), b"", b""
    while place < len(content):
        length, kind = struct.unpack(">I4s", content[place : place + 8])
        body = content[place + 8 : place + 8 + length]
        if kind == b"IHDR":
            header = body
        elif kind == b"IDAT":
            packed += body
        place += 12 + length
    width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", header)
    if depth != 8 or colour not in CHANNELS or interlaced:
        raise ValueError("not the kind of PNG a browser writes")
    channels = CHANNELS[colour]
    lines = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, 1 + width * channels)
    plain = _unfiltered(lines[:, 0].copy(), lines[:, 1:].copy(), channels)
    result: Bytes = plain.reshape(height, width, channels)[:, :, :3]
    return result


@numba.njit(cache=True)
def _unfiltered(kinds: Bytes, lines: Bytes, step: int) -> Bytes:
    """Undo the filter of each line in place."""
    height, width = lines.shape
    for row in range(height):
        kind = kinds[row]
        for i in range(width):
            left = int(lines[row, i - step]) if i >= step else 0
            up = int(lines[row - 1, i]) if row > 0 else 0
            corner = int(lines[row - 1, i - step]) if row > 0 and i >= step else 0
            add = 0
            if kind == 1:
                add = left
            elif kind == 2:
                add = up
            elif kind == 3:
                add = (left + up) // 2
            elif kind == 4:
                guess = left + up - corner
                by_left, by_up, by_corner = abs(guess - left), abs(guess - up), abs(guess - corner)
                if by_left <= by_up and by_left <= by_corner:
                    add = left
                elif by_up <= by_corner:
                    add = up
                else:
                    add = corner
            lines[row, i] = np.uint8((int(lines[row, i]) + add) & 255)
    return lines


def reduced(pixels: Bytes) -> tuple[Bytes, Bytes]:
    """A palette (n, 3) of the commonest colours, at most 256, and the index of each pixel's nearest."""
    height, width, _ = pixels.shape
    wide = pixels.astype(np.uint32)
    keys = (wide[:, :, 0] << 16) | (wide[:, :, 1] << 8) | wide[:, :, 2]
    colours, inverse, counts = np.unique(keys, return_inverse=True, return_counts=True)
    table = np.stack([colours >> 16, (colours >> 8) & 255, colours & 255], axis=1).astype(np.int64)
    kept = np.sort(np.argsort(-counts, kind="stable")[:COLOURS])
    palette = table[kept]
    nearest = np.empty(len(table), np.uint8)
    for start in range(0, len(table), 4096):
        part = table[start : start + 4096]
        away = ((part[:, None, :] - palette[None, :, :]) ** 2).sum(axis=2)
        nearest[start : start + 4096] = away.argmin(axis=1)
    return palette.astype(np.uint8), nearest[inverse.reshape(height, width)]


def write_png(palette: Bytes, indexes: Bytes) -> bytes:
    height, width = indexes.shape
    lines = np.zeros((height, width + 1), np.uint8)
    lines[:, 1:] = indexes
    chunks = [
        _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)),
        _chunk(b"PLTE", palette.tobytes()),
        _chunk(b"IDAT", zlib.compress(lines.tobytes(), 9)),
        _chunk(b"IEND", b""),
    ]
    return SIGNATURE + b"".join(chunks)


def _chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
