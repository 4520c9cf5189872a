#!/usr/bin/env python3
"""A second, independent reader of the Winze format, written from SPEC.md alone.

It needs nothing but the standard library, so that the data outlives the program. It is slow
(about 100 records a second) and for small files, tests and emergencies.

    winze_reader.py FILE...           one JSON line for each record, then a summary
    winze_reader.py --pictures DIR FILE...   the same; whole attachments are written to DIR
    winze_reader.py --vectors DIR     check the frozen vectors
    winze_reader.py --facts DIR       one line for each file of a folder, to compare readers
    winze_reader.py --values FILE     the class of each value, one in hex on each line
    winze_reader.py --payloads FILE   the class of each payload, signatures aside
"""
import functools
import hashlib
import json
import os
import sys

MARK = bytes.fromhex("d28443a10132a0")
DEPTH, ENTRIES, ITEMS, TEXT, RECORD = 8, 64, 4096, 4096, 65536
BUNDLE_BYTES, BUNDLE_ITEMS, FAILURES = 1 << 30, 5_000_000, 10_000
CHUNK, PICTURE, MEDIA = 57_344, 8 << 20, {"image/jpeg": ".jpg", "image/png": ".png"}


class Bad(Exception):
    """A form error; its first argument is the class of SPEC.md section 12."""


# ---- section 4: strict Ed25519 -------------------------------------------------------------

P = 2**255 - 19
L = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, P - 2, P) % P
ROOT = pow(2, (P - 1) // 4, P)


def point_x(y, sign):
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * ROOT % P
    if (x * x - square) % P or (x == 0 and sign):
        return None
    return P - x if x & 1 != sign else x


def add(p, q):
    a, b = (p[1] - p[0]) * (q[1] - q[0]) % P, (p[1] + p[0]) * (q[1] + q[0]) % P
    c, d = 2 * p[3] * q[3] * D % P, 2 * p[2] * q[2] % P
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % P, g * h % P, f * g % P, e * h % P


def mul(n, p):
    result = (0, 1, 1, 0)
    while n:
        if n & 1:
            result = add(result, p)
        p, n = add(p, p), n >> 1
    return result


def same(p, q):
    return (p[0] * q[2] - q[0] * p[2]) % P == 0 and (p[1] * q[2] - q[1] * p[2]) % P == 0


def unpack(raw):
    number = int.from_bytes(raw, "little")
    y, sign = number & (1 << 255) - 1, number >> 255
    x = point_x(y, sign) if y < P else None
    if x is None:
        return None
    point = (x, y, 1, x * y % P)
    return None if same(mul(8, point), (0, 1, 1, 0)) else point


BASE_Y = 4 * pow(5, P - 2, P) % P
BASE = (point_x(BASE_Y, 0), BASE_Y, 1, point_x(BASE_Y, 0) * BASE_Y % P)


@functools.lru_cache(maxsize=4096)
def fault(key, message, signature):
    """What is wrong with a signature; the same question is asked only once."""
    a = unpack(key)
    if a is None:
        return "bad-key"
    r, s = unpack(signature[:32]), int.from_bytes(signature[32:], "little")
    k = int.from_bytes(hashlib.sha512(signature[:32] + key + message).digest(), "little") % L
    if r is None or s >= L or not same(mul(s, BASE), add(r, mul(k, a))):
        return "bad-signature"
    return None


def verify(key, message, signature):
    why = fault(bytes(key), bytes(message), bytes(signature))
    if why:
        raise Bad(why)


# ---- section 2: the one allowed encoding ---------------------------------------------------


class Decimal(tuple):
    """(exponent, mantissa) of a decimal fraction."""


class Cursor:
    def __init__(self, data):
        self.data, self.at = data, 0

    def head(self):
        if self.at >= len(self.data):
            raise Bad("truncated")
        first = self.data[self.at]
        major, info = first >> 5, first & 31
        if major == 7:
            if info == 31:
                raise Bad("indefinite")
            if info not in (20, 21, 22):
                raise Bad("not-allowed")
            self.at += 1
            return major, info
        if info == 31:
            raise Bad("indefinite")
        if info > 27:
            raise Bad("not-allowed")
        self.at += 1
        if info < 24:
            return major, info
        width = 1 << info - 24
        value = int.from_bytes(self.take(width), "big")
        if value < (24 if width == 1 else 1 << 4 * width):
            raise Bad("not-shortest")
        return major, value

    def take(self, count):
        if count > len(self.data) - self.at:
            raise Bad("truncated")
        self.at += count
        return self.data[self.at - count:self.at]

    def integer(self):
        major, value = self.head()
        if major > 1:
            raise Bad("wrong-type")
        if value >> 63:
            raise Bad("out-of-range")
        return -1 - value if major else value

    def value(self, depth=DEPTH):
        major, value = self.head()
        if major == 0:
            return value
        if major == 1:
            if value >> 63:
                raise Bad("out-of-range")
            return -1 - value
        if major == 2:
            return self.take(value)
        if major == 3:
            if value > TEXT:
                raise Bad("too-long")
            try:
                return self.take(value).decode("utf-8")
            except UnicodeDecodeError:
                raise Bad("bad-utf8") from None
        if major == 6:
            if value != 4:
                raise Bad("not-allowed")
            if self.head() != (4, 2):
                raise Bad("wrong-type")
            exponent, mantissa = self.integer(), self.integer()
            if not -18 <= exponent <= 18:
                raise Bad("out-of-range")
            return Decimal((exponent, mantissa))
        if major == 7:
            return {20: False, 21: True, 22: None}[value]
        if depth == 0:
            raise Bad("too-deep")
        if value > (ITEMS if major == 4 else ENTRIES):
            raise Bad("too-long")
        if major == 4:
            return [self.value(depth - 1) for _ in range(value)]
        entries = {}
        for _ in range(value):
            key_major, key = self.head()
            if key_major:
                raise Bad("key-not-uint")
            if entries and key <= next(reversed(entries)):
                raise Bad("key-order")
            entries[key] = self.value(depth - 1)
        return entries


def decode(data):
    cursor = Cursor(data[:RECORD])
    try:
        value = cursor.value()
    except Bad as bad:
        if bad.args[0] == "truncated" and len(data) > RECORD:
            raise Bad("too-long") from None
        raise
    if cursor.at < len(data):
        raise Bad("trailing-bytes")
    return value


# ---- section 3: the record -----------------------------------------------------------------


def expect(value, kind, length=None):
    if type(value) is not kind or (kind is int and value < 0):
        raise Bad("wrong-type")
    if length is not None and len(value) != length:
        raise Bad("bad-field" if kind is bytes else "wrong-count")
    return value


def fields(entries, required, optional=()):
    """Entries must be exactly these keys, the optional ones perhaps."""
    keys = list(entries)
    for key in required:
        if key not in entries:
            follows = [found for found in keys if found > key]
            raise Bad("wrong-key" if follows else "wrong-count")
    for key in keys:
        if key not in required and key not in optional:
            raise Bad("wrong-key" if key < required[-1] else "wrong-count")


def reference(value):
    expect(value, list, 3)
    expect(value[0], bytes, 32), expect(value[1], int), expect(value[2], bytes, 32)
    return value


def check_envelope(payload, entries):
    kind = expect(entries.get(1), int)
    structural = kind in (1, 2)
    required = [0, 1, 2, 5, 6, 7, 9, 10] if structural else [0, 1, 2, 3, 5, 6, 7, 9, 10]
    fields(entries, required, () if structural else (4, 8))
    if kind == 0:
        raise Bad("bad-field")
    expect(entries[2], bytes, 32)
    if not structural:
        expect(entries[3], int)
        if 4 in entries:
            expect(entries[4], bytes, 32)
        if (4 in entries) != (entries[3] > 0):
            raise Bad("bad-field")
    wall, status = expect(entries[5], list, 2)
    if type(wall) is not int:
        raise Bad("wrong-type")
    if not -(1 << 63) <= wall < 1 << 63:
        raise Bad("out-of-range")
    if expect(status, int) > 2:
        raise Bad("bad-field")
    boot, monotonic = expect(entries[6], list, 2)
    expect(boot, bytes, 16), expect(monotonic, int)
    expect(entries[7], str)
    if 8 in entries:
        if not 1 <= len(expect(entries[8], list)) <= 64:
            raise Bad("bad-field")
        for one in entries[8]:
            reference(one)
    expect(entries[9], dict)
    expect(entries[10], bytes, 8)


# ---- section 4: the item -------------------------------------------------------------------


class Item:
    def __init__(self, data, at):
        if data[at:at + 7] != MARK[:len(data) - at]:
            raise Bad("not-an-item")
        if len(data) - at < 7:
            raise Bad("truncated")
        cursor = Cursor(data)
        cursor.at = at + 7
        major, length = cursor.head()
        if major != 2:
            raise Bad("wrong-type")
        if length > RECORD:
            raise Bad("too-long")
        self.payload = payload = cursor.take(length)
        tail = data[cursor.at:cursor.at + 2]
        if tail != b"\x58\x40"[:len(tail)]:
            raise Bad("wrong-type")
        cursor.take(2)
        signature = cursor.take(64)
        self.end = cursor.at
        self.id = hashlib.sha256(payload).digest()
        self.judge(payload)
        head = b"\x40" if not payload else None
        count = len(payload)
        for limit, form in ((24, lambda: bytes([0x40 | count])), (256, lambda: bytes([0x58, count])),
                            (65536, lambda: b"\x59" + count.to_bytes(2, "big")),
                            (1 << 32, lambda: b"\x5a" + count.to_bytes(4, "big"))):
            if count < limit:
                head = form()
                break
        verify(self.log, b"\x84\x6aSignature1\x43\xa1\x01\x32\x47winze/1" + head + payload, signature)

    def judge(self, payload):
        """Reads a payload; one that ends inside a value can no longer become whole."""
        try:
            self.read(payload)
        except Bad as bad:
            raise Bad("bad-field" if bad.args[0] == "truncated" else bad.args[0]) from None

    def read(self, payload):
        cursor = Cursor(payload)
        major, left = cursor.head()
        if major != 5:
            raise Bad("wrong-type")
        if left > ENTRIES:
            raise Bad("too-long")

        def entry(key, kind, length=None):
            """The next entry of the envelope: these stand in the same place in every version."""
            nonlocal left
            if left == 0:
                raise Bad("wrong-count")
            found, left = cursor.head(), left - 1
            if found != (0, key):
                raise Bad("wrong-key" if found[0] == 0 else "key-not-uint")
            return expect(cursor.value(), kind, length)

        self.version = entry(0, int)
        if self.version == 0:
            raise Bad("bad-field")
        self.kind, self.log = entry(1, int), entry(2, bytes, 32)
        if self.version > 1:
            self.seq, self.prev, self.entries = entry(3, int), None, None
            if left and payload[cursor.at:cursor.at + 1] == b"\x04":
                self.prev = entry(4, bytes, 32)
            return
        self.entries = decode(payload)
        check_envelope(payload, self.entries)
        self.seq, self.prev = self.entries.get(3, 0), self.entries.get(4)


# ---- section 7: bundle parts ---------------------------------------------------------------


def read_ranges(value):
    ranges = {}
    for one in expect(value, list):
        log, pairs = expect(one, list, 2)
        expect(log, bytes, 32), expect(pairs, list)
        if (ranges and log <= next(reversed(ranges))) or not pairs or len(pairs) % 2:
            raise Bad("bad-field")
        spans = list(zip(pairs[::2], pairs[1::2]))
        for index, (first, last) in enumerate(spans):
            expect(first, int), expect(last, int)
            if last < first or (index and first <= spans[index - 1][1] + 1):
                raise Bad("bad-field")
        ranges[log] = spans
    return ranges


def places(ranges):
    return [(log, first, last) for log in sorted(ranges) for first, last in ranges[log]]


def missing(declared, found):
    """Declared ranges of each log, less the places found."""
    result = []
    for log, first, last in declared:
        for seq in sorted(s for s in found.get(log, ()) if first <= s <= last):
            if seq > first:
                result.append((log, first, seq - 1))
            first = seq + 1
        if first <= last:
            result.append((log, first, last))
    return result


# ---- section 8: reading damaged files ------------------------------------------------------


class Report:
    def __init__(self, data, bundle):
        self.records, self.newer, self.damage, self.missing = [], [], [], []
        self.header = self.trailer = None
        self.state = "absent"
        self.bundle, self.data = bundle, data
        self.due = None
        at, items, failures, behind_trailer = 0, 0, 0, False
        surplus = len(data) - BUNDLE_BYTES if bundle else 0
        if surplus > 0:
            self.data = data = data[:BUNDLE_BYTES]
        while at < len(data):
            try:
                item = Item(data, at)
            except Bad as bad:
                reason = bad.args[0]
                number = behind_trailer and data[at] == 0x1B and len(data) - at >= 9
                if number and data.find(MARK, at, at + 15) < 0:
                    self.hint(at, int.from_bytes(data[at + 1:at + 9], "big"))
                    at, behind_trailer = at + 9, False
                    continue
                behind_trailer = False
                failures += 1
                if bundle and failures > FAILURES:
                    self.damaged(at, len(data) - at, "over-limit")
                    break
                next_at = data.find(MARK, at + 1)
                next_at = len(data) if next_at < 0 else next_at
                self.damaged(at, next_at - at, "bad-signature" if reason == "bad-key" else reason, True)
                at = next_at
                continue
            if bundle and items == BUNDLE_ITEMS:
                self.damaged(at, len(data) - at, "over-limit")
                break
            items += 1
            behind_trailer = item.version == 1 and item.kind == 2
            self.item(item, at)
            at = item.end
        if surplus > 0:
            self.damaged(len(data), 0, "over-limit")
        self.finish()

    def damaged(self, at, length, reason, merge=False):
        self.follows_end()
        last = self.damage[-1] if self.damage else None
        if merge and last and last[0] + last[1] == at and last[2] != "misplaced":
            last[1] += length
        else:
            self.damage.append([at, length, reason])

    def disagree(self, fault):
        if self.state in ("absent", "whole"):
            self.state = fault

    def follows_end(self):
        if self.trailer:
            self.disagree("bad-hint" if self.due is not None else "not-last")
            self.due = None

    def hint(self, at, value):
        if self.due is None:
            self.damage.append([at, 9, "misplaced"])
        elif self.due != value:
            self.disagree("bad-hint")
        self.due = None

    def item(self, item, at):
        self.follows_end()
        if item.version > 1:
            self.newer.append(item)
        elif item.kind > 2:
            self.records.append(item)
        elif not self.bundle:
            self.damage.append([at, item.end - at, "misplaced"])
        elif item.kind == 1:
            self.take_header(item, at)
        else:
            self.take_trailer(item, at)

    def take_header(self, item, at):
        body = item.entries[9]
        try:
            fields(body, [0, 1, 2, 3])
            expect(body[0], str), expect(body[2], int)
            ranges = read_ranges(body[1])
            if len(expect(body[3], list)) > 512:
                raise Bad("bad-field")
            for one in body[3]:
                reference(one)
        except Bad:
            self.damage.append([at, item.end - at, "misplaced"])
            return
        if self.header or self.trailer or at:
            self.damage.append([at, item.end - at, "misplaced"])
        if not self.header and not self.trailer:
            self.header = {"id": item.id, "log": item.log, "ranges": ranges, "count": body[2]}

    def take_trailer(self, item, at):
        body = item.entries[9]
        try:
            fields(body, [0, 1, 2, 3, 4])
            expect(body[0], bytes, 32), expect(body[1], int), expect(body[2], int)
            expect(body[3], bytes, 32)
            ranges = read_ranges(body[4])
        except Bad:
            self.disagree("bad-form")
            self.damage.append([at, item.end - at, "misplaced"])
            return
        header = self.header
        if self.trailer or (header and (header["id"] != body[0] or header["log"] != item.log)):
            self.disagree("other-bundle")
            self.damage.append([at, item.end - at, "misplaced"])
            return
        strays = any(not any(first <= item.seq <= last for first, last in ranges.get(item.log, ()))
                     for item in self.records + self.newer)
        if strays or (header and header["ranges"] != ranges):
            self.disagree("other-ranges")
        elif body[2] != at:
            self.disagree("other-length")
        elif body[1] != len(self.records) + len(self.newer) or (header and header["count"] != body[1]):
            self.disagree("other-records")
        elif body[3] != hashlib.sha256(self.data[:at]).digest():
            self.disagree("other-hash")
        elif self.state == "absent":
            self.state = "whole"
        self.trailer, self.due = {"ranges": ranges}, at

    def finish(self):
        if self.due is not None:
            self.disagree("bad-hint")
        found = {}
        for item in self.records + self.newer:
            found.setdefault(item.log, set()).add(item.seq)
        parts = [part["ranges"] for part in (self.header, self.trailer) if part]
        if parts:
            union = {}
            for part in parts:
                for log, first, last in places(part):
                    union.setdefault(log, []).append([first, last])
            for spans in union.values():
                spans.sort()
                merged = [spans[0]]
                for first, last in spans[1:]:
                    if first <= merged[-1][1] + 1:
                        merged[-1][1] = max(merged[-1][1], last)
                    else:
                        merged.append([first, last])
                spans[:] = merged
            declared = places(union)
        else:
            declared = [(log, min(seqs), max(seqs)) for log, seqs in sorted(found.items())]
        self.missing = missing(declared, found) if self.bundle else []

    def whole(self):
        good_end = self.header and self.state == "whole" if self.bundle else True
        return bool(good_end) and not self.damage and not self.missing


# ---- showing and checking ------------------------------------------------------------------


def show(value):
    if isinstance(value, Decimal):
        return {"decimal": list(value)}
    if isinstance(value, bytes):
        return value.hex()
    if isinstance(value, list):
        return [show(one) for one in value]
    if isinstance(value, dict):
        return {str(key): show(one) for key, one in value.items()}
    return value


def facts(report):
    return {
        "records": str(len(report.records)),
        "newer": str(len(report.newer)),
        "damage": " ".join(f"{at}+{length}:{why}" for at, length, why in report.damage),
        "trailer": report.state,
        "missing": " ".join(f"{log.hex()[:8]}:{a}-{b}" for log, a, b in report.missing),
    }


def attachments(records):
    """Section 14: every attachment with its bytes, or why there are none."""
    chunks, found = {}, []
    for item in records:
        body = item.entries[9]
        if item.kind == 54 and list(body) == [0] and isinstance(body[0], bytes) and 0 < len(body[0]) <= CHUNK:
            chunks[hashlib.sha256(body[0]).digest()] = body[0]
    for item in records:
        if item.kind != 53:
            continue
        body = item.entries[9]
        try:
            if not set(body) - {6, 7} == {0, 1, 2, 3, 4, 5, 8} or set(body) - set(range(9)):
                raise Bad("wrong-key")
            length, whole, names = expect(body[1], int), expect(body[2], bytes, 32), expect(body[3], list)
            reference(body[4])
            sizes = []
            for name in names:
                if len(expect(name, list)) != 2:
                    raise Bad("wrong-count")
                expect(name[0], bytes, 32)
                sizes.append(expect(name[1], int))
            if (body[0] not in MEDIA or not 0 < length <= PICTURE or not 0 < len(sizes) <= 1024
                    or sum(sizes) != length or not all(0 < size <= CHUNK for size in sizes)):
                raise Bad("bad-field")
        except Bad:
            found.append((item, "not-understood", b""))
            continue
        absent = sum(name not in chunks for name, _ in names)
        if absent:
            found.append((item, f"incomplete:{absent}", b""))
            continue
        data = b"".join(chunks[name] for name, _ in names)
        fits = all(len(chunks[name]) == size for name, size in names) and hashlib.sha256(data).digest() == whole
        found.append((item, "whole", data) if fits else (item, "unfit", b""))
    return found


def read_file(path, pictures=None):
    with open(path, "rb") as file:
        data = file.read(BUNDLE_BYTES + 1)
    report = Report(data, not path.endswith(".seg"))
    for item in report.records:
        print(json.dumps({"log": item.log.hex(), "seq": item.seq, "id": item.id.hex(),
                          "envelope": show(item.entries)}, ensure_ascii=False))
    for item, state, data in attachments(report.records):
        print(json.dumps({"attachment": item.id.hex(), "state": state}))
        if pictures and state == "whole":
            name = item.id.hex()[:16] + MEDIA[item.entries[9][0]]
            with open(os.path.join(pictures, name), "wb") as file:
                file.write(data)
    print(json.dumps({"file": path, "whole": report.whole(), **facts(report)}))
    return report.whole()


def facts_of_folder(folder):
    for name in sorted(os.listdir(folder)):
        with open(os.path.join(folder, name), "rb") as file:
            report = Report(file.read(BUNDLE_BYTES + 1), not name.endswith(".seg"))
        found = facts(report)
        names = [" ".join(f"{item.log.hex()}:{item.seq}:{item.id.hex()}" for item in items)
                 for items in (report.records, report.newer)]
        print("whole" if report.whole() else "damaged", *names,
              found["damage"], found["trailer"], found["missing"], sep="|")


def classes(path, judge):
    with open(path, encoding="ascii") as file:
        for line in file:
            try:
                judge(bytes.fromhex(line))
                print("ok")
            except Bad as bad:
                print(bad.args[0])


def check_vector(path):
    with open(path, encoding="utf-8") as file:
        head, body = file.read().split("\n\n", 1)
    said = dict(line.split(": ", 1) if ": " in line else (line.rstrip(":"), "")
                for line in head.splitlines()[1:])
    data = bytes.fromhex("".join(body.split()))
    found = {}
    try:
        if said["of"] == "value":
            decode(data)
            found["expect"] = "ok"
        elif said["of"] == "item":
            item = Item(data, 0)
            if item.end != len(data):
                raise Bad("trailing-bytes")
            found["expect"] = "ok" if item.version == 1 else "newer"
            found.update(log=item.log.hex(), seq=str(item.seq), id=item.id.hex())
        else:
            report = Report(data, said["of"] == "bundle")
            found = {"expect": "whole" if report.whole() else "damaged", **facts(report)}
    except Bad as bad:
        found["expect"] = bad.args[0]
    return {key: (said[key], found.get(key)) for key in said
            if key not in ("of", "about") and said[key] != found.get(key)}


def main(arguments):
    if len(arguments) == 2 and arguments[0] == "--vectors":
        names = sorted(name for name in os.listdir(arguments[1]) if name.endswith(".txt"))
        wrong = 0
        for name in names:
            differences = check_vector(os.path.join(arguments[1], name))
            if differences:
                wrong += 1
                print(name, differences)
        print(f"{len(names)} vectors, {wrong} wrong")
        return 2 if wrong or not names else 0
    if len(arguments) == 2 and arguments[0] == "--facts":
        facts_of_folder(arguments[1])
        return 0
    if len(arguments) == 2 and arguments[0] in ("--values", "--payloads"):
        classes(arguments[1], decode if arguments[0] == "--values" else Item.__new__(Item).judge)
        return 0
    if len(arguments) > 2 and arguments[0] == "--pictures":
        return 0 if all([read_file(path, arguments[1]) for path in arguments[2:]]) else 1
    if not arguments or arguments[0].startswith("-"):
        print(__doc__)
        return 2
    return 0 if all([read_file(path) for path in arguments]) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
