"""strings.py - texts that a stranger might send, and what may be shown of them.

A second reading of what src/text/clean.c does, from the same rules: each byte that is no
character (RFC 3629) and each character that steers, hides or turns becomes U+FFFD.
"""
import codecs

# Names are those of the danger. At most 40 bytes, so that fields of fixed width hold them.
HOSTILE = {
    "escape": b"\x1b[2J\x1b]0;owned\x07",
    "controls": b"a\nb\rc\td\x0be\x0cf\x7fg\x08h",
    "c1": "\u0080\u0085\u009b31m\u009d0;x\u009c".encode(),
    "c1 bytes": b"\x9b31m\x9d0;x\x9c",
    "bidi": "\u202eend\u2066\u2069\u200e\u200f\u061c\u202a".encode(),
    "hidden": "\u200b\u200d\u2060\ufeff\u00ad\u3164\ufe0f\U000e0041z".encode(),
    "separators": "a\u2028b\u2029c\ufff9d\uffff".encode(),
    "broken": b"\xff\xc3(\xc0\xaf\xe0\x80\xaf\xf5\x80\x80\x80",
    "surrogates": b"\xed\xa0\x80\xed\xb0\x80 \xe2\x82",
    "script": b"</script><script>pwned=1</script>",
    "attribute": b"\"'><img src=x onerror=pwned=1>",
    "comment": b"<!--x--><![CDATA[y]]>{{data}}&lt;&#60;",
    "json": b"\\\",\"x\":[\\u0000\\ud800]}",
    "format": b"%s%n%1$s%999999d",
}

# These need their place at the very start of a cell.
FORMULAS = {
    "formula =": b"=cmd|' !A0",
    "formula +": b"+1+cmd",
    "formula -": b"-1+cmd",
    "formula @": b"@SUM(1)",
    "formula blank": b" =1+1",
    "formula tab": b"\t=1+1",
    "formula carriage return": b"\r=1+1",
    "formula behind a semicolon": b"a;=1+1;+2; -3;@4",
    "formula of full width": "\uff1d1+1;\uff0b1".encode(),
    "formula in quotes": b"\"=1+1\",=2",
}

HARMFUL = set(range(0x20)) | set(range(0x7F, 0xA0)) | set(range(0x200B, 0x2010)) | \
    set(range(0x2028, 0x202F)) | set(range(0x2060, 0x2070)) | set(range(0xFE00, 0xFE10)) | \
    set(range(0xFFF9, 0xFFFC)) | set(range(0xE0000, 0xE1000)) | \
    {0xAD, 0x61C, 0x3164, 0xFEFF, 0xFFFE, 0xFFFF}
GONE = "\ufffd"


def characters(raw):
    """UTF-8 as far as it is; each byte that is none becomes a lone surrogate."""
    return raw.decode("utf-8", "surrogateescape")


def is_utf8(raw):
    return not any(0xDC80 <= ord(c) <= 0xDCFF for c in characters(raw))


def neutral(raw):
    return "".join(GONE if ord(c) in HARMFUL or 0xDC80 <= ord(c) <= 0xDCFF else c
                   for c in characters(raw))


def cut_utf8(raw):
    """Whether only the end of a field makes it no UTF-8."""
    try:
        whole = codecs.getincrementaldecoder("utf-8")().decode(raw)
    except UnicodeDecodeError:
        return False
    return any(ord(c) > 0x7F for c in whole)


def told(raw):
    """As an ECU tells it: ISO 8859-1 where it is not UTF-8, without padding."""
    raw = raw.strip(b"\x00\xff ")
    return neutral(raw if is_utf8(raw) or cut_utf8(raw) else raw.decode("latin-1").encode())
