"""inlets.py - one hostile text in every place where a stranger's text comes in.

As a program, for the tests in a browser: inlets.py FOLDER writes a set of files for each text of
strings.py, and FOLDER/sets.json: where they are, and what may be shown of them.
"""
import json
import os
import struct
import sys

import strings

SPREADER, CONTROLLER = 0x80, 0xF7
SPREADER_NAME, CONTROLLER_NAME = 0xA00A8000FFE00002, 0xA0028200FFE00009

# A mark of two letters before the text tells where it came in.
MARKS = {
    "interface": b"if",
    "comment": b"cm",  # of a capture: nobody reads it
    "software": b"sw", "component": b"co", "ecu": b"ec", "product": b"pr", "information": b"in",
    "device": b"dv", "device version": b"dw", "element": b"el", "data": b"da", "property": b"dp",
    "unit": b"un",
    "message": b"me", "signal": b"si", "signal unit": b"su", "state": b"st", "spn": b"sp",
    "rig": b"rg", "section": b"se", "rig ecu": b"re", "rig product": b"rp",
    "file": b"fi",
}


class Recording:
    """Frames at 10 ms steps, as a capture with one interface of any name."""

    def __init__(self, interface, comment):
        self.at_us = 1717000000 * 10**6
        self.blocks = [self.block(0x0A0D0D0A, struct.pack("<IHHq", 0x1A2B3C4D, 1, 0, -1) +
                                  self.option(1, comment) + self.option(0, b"")),
                       self.block(1, struct.pack("<HHI", 227, 0, 0) + self.option(1, comment) +
                                  self.option(2, interface) + self.option(0, b""))]
        self.comment = comment

    @staticmethod
    def block(kind, body):
        length = len(body) + 12
        return struct.pack("<II", kind, length) + body + struct.pack("<I", length)

    @staticmethod
    def option(code, value):
        return struct.pack("<HH", code, len(value)) + value + b"\0" * (-len(value) % 4)

    def frame(self, pgn, source, data, priority=6):
        word = 0x80000000 | priority << 26 | pgn << 8 | source
        record = struct.pack(">IBBBB", word, len(data), 0, 0, 0) + data
        self.at_us += 10000
        self.blocks.append(self.block(6, struct.pack(
            "<IIIII", 0, self.at_us >> 32, self.at_us & 0xFFFFFFFF, len(record), len(record)) +
            record + b"\0" * (-len(record) % 4) + self.option(1, self.comment) +
            self.option(0, b"")))

    def packets(self, pgn, source, data):
        for i in range(0, len(data), 7):
            self.frame(pgn, source, bytes([i // 7 + 1]) + data[i:i + 7].ljust(7, b"\xff"))

    def broadcast(self, pgn, source, data):
        """ISO 11783-3: the announcement of a broadcast, and its packets."""
        count = (len(data) + 6) // 7
        head = bytes([32]) + struct.pack("<HBB", len(data), count, 255)
        self.frame(0xECFF, source, head + pgn.to_bytes(3, "little"), 7)
        self.packets(0xEBFF, source, data)

    def transfer(self, pgn, source, destination, data):
        """ISO 11783-3: request, grant of all, packets, acknowledgement."""
        count, name = (len(data) + 6) // 7, pgn.to_bytes(3, "little")
        control = lambda of, to, head: self.frame(0xEC00 | to, of, head + name, 7)
        control(source, destination, bytes([16]) + struct.pack("<HBB", len(data), count, 255))
        control(destination, source, bytes([17, count, 1, 255, 255]))
        self.packets(0xEB00 | destination, source, data)
        control(destination, source, bytes([19]) + struct.pack("<HBB", len(data), count, 255))

    def fast(self, pgn, source, data):
        """NMEA 2000: six bytes in the first frame, seven in each that follows."""
        self.frame(pgn, source, bytes([0x20, len(data)]) + data[:6])
        for i in range(6, len(data), 7):
            self.frame(pgn, source, bytes([0x21 + (i - 6) // 7]) + data[i:i + 7].ljust(7, b"\xff"))

    def bytes(self):
        return b"".join(self.blocks)


def pool(text):
    """A device description: ISO 11783-10 annex A, the layout before version 4."""
    own = lambda raw: bytes([len(raw)]) + raw
    begin = lambda tag, number: tag + struct.pack("<H", number)
    return (
        begin(b"DVC", 0) + own(text("device")) + own(text("device version")) +
        struct.pack("<Q", SPREADER_NAME) + own(b"7") + b"GS24-07" + b"en\x4f\x04\x00\x00\xff" +
        begin(b"DET", 1) + b"\x01" + own(text("element")) + struct.pack("<HHHHH", 0, 0, 2, 2, 3) +
        begin(b"DPD", 2) + struct.pack("<HBB", 7, 1, 9) + own(text("data")) + struct.pack("<H", 4) +
        begin(b"DPT", 3) + struct.pack("<Hi", 67, 24000) + own(text("property")) +
        struct.pack("<H", 4) +
        begin(b"DVP", 4) + struct.pack("<ifB", 0, 0.01, 1) + own(text("unit")))


def talk(r, text):
    """What the controller and the spreader say."""
    r.frame(0xEEFF, CONTROLLER, struct.pack("<Q", CONTROLLER_NAME))
    r.frame(0xEEFF, SPREADER, struct.pack("<Q", SPREADER_NAME))
    r.broadcast(65242, SPREADER, b"\x01" + text("software") + b"*")
    r.broadcast(65259, SPREADER, b"m*" + text("component") + b"*1*u*")
    r.broadcast(64965, SPREADER, b"p*s*l*" + text("ecu") + b"*m*h*")
    r.broadcast(64653, SPREADER, b"c*b*" + text("product") + b"*")
    r.fast(126996, SPREADER, struct.pack("<HH", 2100, 7) +
           text("information")[:32].ljust(32, b"\xff") + b"1".ljust(32, b"\xff") * 3 + b"\x01\x01")
    for _ in range(3):
        r.frame(0xCBFF, CONTROLLER, bytes.fromhex("FEFFFFFFFFFFFFFF"), 3)
    r.transfer(0xCB00, SPREADER, CONTROLLER, b"\x61" + pool(text))
    r.frame(0xCB00 | SPREADER, CONTROLLER, bytes.fromhex("7100FFFFFFFFFFFF"), 5)
    r.frame(0xCB00 | CONTROLLER, SPREADER, bytes.fromhex("81FFFFFFFFFFFFFF"), 5)
    r.frame(0xCB00 | SPREADER, CONTROLLER, bytes.fromhex("9100FFFFFFFF00FF"), 5)
    for i in range(8):
        r.frame(0xCB00 | CONTROLLER, SPREADER, bytes.fromhex("03000700") + struct.pack("<i", -150), 5)
        r.frame(0xFF1E, SPREADER, bytes([i % 2, 1, 2, 3, 4, 5, 6, 7]))
        r.frame(0xFECA, SPREADER, bytes.fromhex("04FFA00F0501FFFF"))  # SPN 4000, FMI 5
        r.frame(0xCBFF, CONTROLLER, bytes.fromhex("FEFFFFFFFFFFFFFF"), 3)


def recording(text, comment):
    r = Recording(text("interface")[:63], comment)
    talk(r, text)
    return r.bytes()


def json_text(raw):
    """A JSON string of any bytes: what must be escaped is, the rest stands as it is."""
    out = b""
    for byte in raw:
        if byte in b"\"\\" or byte < 0x20:
            out += json.dumps(chr(byte))[1:-1].encode()
        else:
            out += bytes([byte])
    return b'"' + out + b'"'


def definitions(text):
    t = lambda mark: json_text(text(mark))
    return (b'{"schema": "drawbar-messages/1", "subject": "hostile", "source": "invented",\n'
            b' "messages": [{"pgn": 65310, "name": ' + t("message") + b', "length": 8,\n'
            b'  "note": ' + t("message") + b', "signals": [\n'
            b'   {"name": ' + t("signal") + b', "byte": 1, "bits": 8, "states": {"0": ' + t("state") +
            b', "1": "one"}},\n'
            b'   {"name": ' + t("spn") + b', "byte": 2, "bits": 8, "spn": 4000},\n'
            b'   {"name": "measured", "byte": 3, "bits": 8, "offset": -50, "unit": ' +
            t("signal unit") + b'}],\n'
            b'  "examples": [{"data": "0102030405060708", "source": "worked by hand",\n'
            b'    "expect": {"measured": -47.0}}]}]}\n')


def rig(text):
    t = lambda mark: json_text(text(mark))
    return (b'{"schema": "drawbar-rig/1", "name": ' + t("rig") + b', "sections": [\n'
            b' {"name": "tractor", "ecus": [{"label": "tc", "address": 247}]},\n'
            b' {"name": ' + t("section") + b', "ecus": [{"label": ' + t("rig ecu") +
            b', "address": 99}]}],\n'
            b' "implement": {"products": [{"label": ' + t("rig product") +
            b', "mass_per_revolution_kg": 0.5}]}}\n')


def write(folder, raw, formula):
    """The files of one text. A formula stands alone at the start, its mark behind it."""
    text = lambda mark: raw + MARKS[mark] if formula else MARKS[mark] + raw
    name = text("file").replace(b"/", b"|")
    uploads, rules = os.path.join(folder, b"uploads"), os.path.join(folder, name + b".d")
    os.makedirs(uploads)
    os.makedirs(rules)
    files = {
        "recording": (os.path.join(uploads, name + b".pcapng"), recording(text, text("comment"))),
        "later": (os.path.join(uploads, name + b"2.pcapng"), recording(text, text("comment")) + b"x"),
        "unusable": (os.path.join(uploads, name + b".txt"), b"no frames " + raw + b"\n"),
        "definitions": (os.path.join(rules, name + b".json"), definitions(text)),
        "rig": (os.path.join(folder, name + b".rig"), rig(text)),
        "broken": (os.path.join(folder, name + b".broken"), b'{"' + raw.replace(b'"', b"") + b'": 1, 2'),
        "missing": (os.path.join(folder, name + b".missing"), None),
    }
    for path, content in files.values():
        if content is not None:
            with open(path, "wb") as file:
                file.write(content)
    return {key: path for key, (path, _) in files.items()} | {
        "rules": rules, "uploads": uploads, "interface": text("interface")}


def write_all(folder):
    sets = {}
    for formula, table in ((False, strings.HOSTILE), (True, strings.FORMULAS)):
        for name, raw in table.items():
            sets[name] = write(os.path.join(os.fsencode(folder), b"%d" % len(sets)), raw, formula)
    return sets


def main(folder):
    """Only the names of files that are UTF-8: a browser's driver takes no others."""
    told = []
    for name, files in write_all(folder).items():
        formula = name in strings.FORMULAS
        raw = strings.FORMULAS[name] if formula else strings.HOSTILE[name]
        shown = {mark: strings.neutral(raw + code if formula else code + raw)
                 for mark, code in MARKS.items()}
        shown["file"] = shown["file"].replace("/", "|")
        if strings.is_utf8(raw):
            told.append({"name": name, "shown": shown,
                         "files": {key: os.fsdecode(path) for key, path in files.items()}})
    with open(os.path.join(folder, "sets.json"), "w", encoding="utf-8") as file:
        json.dump(told, file)


if __name__ == "__main__":
    main(sys.argv[1])
