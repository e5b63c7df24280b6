"""Bytes to text: UTF-8 with or without its mark, UTF-16 with it, and Windows-1252."""

from __future__ import annotations

import codecs
import re

from pipelines.errors import ReadError

# A letter beyond ASCII as UTF-8 writes it, and as nothing in Windows-1252 is spelt.
_UTF8 = re.compile(rb"[\xc2\xc3][\x80-\xbf]|\xe2[\x80-\x84][\x80-\xbf]")


def decoded(content: bytes, file: str) -> str:
    """Decode a text file.

    Args:
        content: Its bytes.
        file: Its name in messages.

    Returns:
        Its text.

    Raises:
        ReadError: It is in another encoding, or in two at once; the text says from which row on.
    """
    try:
        text = _text_of(content)
    except UnicodeDecodeError as error:
        row = error.object.count(b"\n", 0, error.start) + 1
        raise ReadError(_refusal(file, row)) from error
    if "\0" in text:  # as in UTF-16 without its mark, or in what is no text at all
        raise ReadError(_refusal(file, text.count("\n", 0, text.index("\0")) + 1))
    return text


def _text_of(content: bytes) -> str:
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content.decode("utf-16")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        # What is UTF-8 but for one broken place is not Windows-1252 for that: it says so instead.
        if content.startswith(codecs.BOM_UTF8) or _UTF8.search(content):
            raise
        return content.decode("cp1252")


def _refusal(file: str, row: int) -> str:
    return (
        f"{file} is not text in an encoding that is known, as its row {row} shows: save it as "
        "CSV UTF-8"
    )
