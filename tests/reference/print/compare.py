"""Compares what `drawbar print` writes with general-purpose readers; see run."""
import csv
import gzip
import io
import json
import os
import subprocess
import sys
import tempfile

try:
    import can
except ImportError:
    can = None

PROGRAM, SAMPLES = sys.argv[1:3]
HEAD = ["t", "interface", "address", "destination", "priority", "pgn", "name", "data", "signals"]
STATUS = {"valid", "not_available", "error", "out_of_range", "absent"}
passed = failed = skipped = 0

# A BAM, a failed one, 11-bit, remote and FD frames: what the samples lack.
ODD = """(1.000000) can0 1CECFF80#20100003FF00FF00
(1.060000) can0 1CEBFF80#0101020304050607
(1.120000) can1 123#DEADBEEF
(1.120001) can0 1CEBFF80#0208090A0B0C0D0E
(1.180000) can0 1CEBFF80#030F10FFFFFFFFFF
(1.200000) can0 18FEF100#R8
(1.300000) can0 18FEF100##1FFFFFFFFFFFFFFFFFFFFFFFF
(1.400000) can0 1CECFF80#20100003FF00FF00
(1.900000) can0 1CFF0180#
(2.300000) can0 0CCBF780#23008D0001000000
(2.400000) can0 20000040#0000000000000000
"""


def check(name, verify):
    """Runs one comparison; an exception is its failure."""
    global passed, failed
    try:
        verify()
        passed += 1
    except Exception as reason:  # whatever goes wrong is a result
        failed += 1
        print(f"not ok: {name}: {type(reason).__name__}: {reason}")


def output(*arguments):
    done = subprocess.run([PROGRAM, "print", "--quiet", *arguments], capture_output=True, check=True)
    return done.stdout.decode("utf-8")  # strict: raises where it is no UTF-8


def no_twins(pairs):
    keys = [key for key, _ in pairs]
    assert len(keys) == len(set(keys)), f"a key twice: {keys}"
    return dict(pairs)


def no_constant(word):
    raise ValueError(f"{word} is no JSON")


def ndjson(path, *arguments):
    text = output("--format", "ndjson", *arguments, path)
    assert text.endswith("\n")
    return [json.loads(line, object_pairs_hook=no_twins, parse_constant=no_constant)
            for line in text[:-1].split("\n")]


def verify_lines(path):
    """Every line has the contract's keys first and in order, with values of its types."""
    for line in ndjson(path):
        assert list(line)[:len(HEAD)] == HEAD, list(line)
        assert isinstance(line["t"], float) and isinstance(line["interface"], str)
        if "frame" not in line:
            assert 0 <= line["address"] <= 254 and 0 <= line["priority"] <= 7
            assert 0 <= line["pgn"] < 1 << 18
            assert line["destination"] is None or 0 <= line["destination"] < 255
        if line["data"] is not None:
            bytes.fromhex(line["data"])
        for signal in line["signals"]:
            assert signal["status"] in STATUS, signal
            valid = signal["status"] == "valid"
            told = isinstance(signal["value"], (int, float))
            # What is a text alone (software, "none" of the trouble codes) has no number.
            assert told or signal["value"] is None, signal
            assert told == valid or (valid and signal["text"]), signal


def verify_csv(path):
    """The rows of CSV are the signals of NDJSON, in its order."""
    rows = list(csv.reader(io.StringIO(output("--format", "csv", path)), strict=True))
    heading, rows = rows[0], rows[1:]
    assert all(len(row) == len(heading) for row in rows), "rows differ in length"
    wanted = []
    for line in ndjson(path):
        head = [line[key] for key in ("interface", "address", "destination", "priority", "pgn",
                                      "name", "data")]
        for signal in line["signals"] or [None]:
            signal = signal or {}
            words = (line.get("frame") or line.get("transfer") or {}).get("text")
            process = line.get("process", {})
            wanted.append([line["t"]] + head + [
                signal.get("name"), signal.get("spn"), signal.get("value"), signal.get("unit"),
                signal.get("status"), signal.get("text", None if signal else words),
                process.get("command"), process.get("element"), process.get("ddi")])
    assert len(rows) == len(wanted), f"{len(rows)} rows, {len(wanted)} signals"
    for row, want in zip(rows, wanted):
        for cell, value in zip(row, want):
            if isinstance(value, (int, float)):
                assert float(cell) == float(value), (row, want)
            else:
                assert cell == (value or ""), (row, want)


def verify_text(path):
    """As many lines as NDJSON, each with the data of its message."""
    lines = output(path).splitlines()
    wanted = ndjson(path)
    assert len(lines) == len(wanted), f"{len(lines)} lines, {len(wanted)} objects"
    for text, line in zip(lines, wanted):
        assert float(text.split()[0]) == line["t"] and (line["data"] or "") in text, text


def identifier_of(line):
    if "frame" in line:
        return int(line["frame"]["id"], 16)
    low = 255 if line["destination"] is None else line["destination"]
    specific = (line["pgn"] >> 8 & 0xFF) < 240
    return (line["priority"] << 26 | line["pgn"] << 8 | (low << 8 if specific else 0)
            | line["address"])


def verify_frames(path):
    """Every frame that the other reader finds, with its time, identifier and bytes."""
    lines = [line for line in ndjson(path, "--frames") if "transfer" not in line]
    opener = gzip.open if path.endswith(".gz") else open
    with opener(path, "rt") as file:
        frames = list(can.CanutilsLogReader(file))
    assert len(frames) == len(lines), f"{len(frames)} frames, {len(lines)} lines"
    for frame, line in zip(frames, lines):
        assert abs(frame.timestamp - frames[0].timestamp - line["t"]) < 2e-6, (frame, line)
        assert frame.channel == line["interface"], (frame, line)
        # This reader keeps nothing of a bus error but that there was one.
        if frame.is_error_frame:
            assert line["frame"]["kind"] == "error", (frame, line)
            continue
        assert frame.arbitration_id == identifier_of(line), (frame, line)
        data = b"" if frame.is_remote_frame else bytes(frame.data)
        assert data == bytes.fromhex(line["data"]), (frame, line)
        if frame.is_remote_frame or frame.is_fd:
            assert line["frame"]["kind"] == ("remote" if frame.is_remote_frame else "fd")


def verify_columns(path):
    """A table of signals holds the values that NDJSON has of them."""
    term = "wheel-based machine"
    rows = list(csv.reader(io.StringIO(output("--signals", term, path)), strict=True))
    heading = [cell.split(" [")[0] for cell in rows[0]]
    wanted = ndjson(path, "--signal", term)
    assert len(rows) - 1 == len(wanted)
    for row, line in zip(rows[1:], wanted):
        assert float(row[0]) == line["t"] and int(row[-2]) == line["address"]
        for signal in line["signals"]:
            cell = row[heading.index(signal["name"])]
            if signal["value"] is None:
                assert cell == "", (row, signal)
            elif "text" in signal:
                assert cell == signal["text"], (row, signal)
            else:
                assert float(cell) == signal["value"], (row, signal)


def main():
    global skipped
    with tempfile.TemporaryDirectory() as folder:
        odd = os.path.join(folder, "odd.log")
        with open(odd, "w", encoding="ascii") as file:
            file.write(ODD)
        names = sorted(name for name in os.listdir(SAMPLES)
                       if name.endswith((".log", ".log.gz", ".pcapng")))
        assert names, f"no recordings in {SAMPLES}"
        for path in [os.path.join(SAMPLES, name) for name in names] + [odd]:
            name = os.path.basename(path)
            check(f"{name}: NDJSON", lambda: verify_lines(path))
            check(f"{name}: CSV", lambda: verify_csv(path))
            check(f"{name}: text", lambda: verify_text(path))
            check(f"{name}: columns", lambda: path == odd or verify_columns(path))
            if path.endswith(".pcapng"):
                continue  # the other reader knows no pcapng
            if can:
                check(f"{name}: frames", lambda: verify_frames(path))
            else:
                skipped += 1
                print(f"SKIPPED: {name}: frames: python3-can is not installed")
    print(f"{passed} passed, {failed} failed, {skipped} skipped")
    sys.exit(1 if failed or not passed else 0)


main()
