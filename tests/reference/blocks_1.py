"""Drawing lots by the method blocks/1, from its description alone; prints 12_lots_blocks_1.own.json."""
import hashlib, json


def draw(seed, units, sizes, target):
    order = sorted(range(len(units)), key=lambda u: (units[u][1], units[u][0].encode()))
    n, counter = len(units), 0
    blocks = max(1, min((2 * n + target) // (2 * target), n // len(sizes)))
    placed, given, done = [None] * n, [0] * len(sizes), 0
    for b in range(blocks):
        length = n // blocks + (b < n % blocks)
        row, done = [], done + length
        for _ in range(length):
            g = max(range(len(sizes)), key=lambda g: (sizes[g] * done - n * given[g], sizes[g], -g))
            given[g], row = given[g] + 1, row + [g]
        row.sort()
        for i in range(length - 1, 0, -1):
            x = 2**64
            while x >= 2**64 // (i + 1) * (i + 1):
                x = int.from_bytes(hashlib.sha256(seed + counter.to_bytes(8, "big")).digest()[:8], "big")
                counter += 1
            j = x % (i + 1)
            row[i], row[j] = row[j], row[i]
        for place, g in enumerate(row):
            placed[order[done - length + place]] = [b, g]
    return placed


def case(name, seed, units, sizes, target):
    placed = draw(bytes.fromhex(seed), units, sizes, target)
    return {"name": name, "input": {"seed": seed, "units": [{"id": i, "size": s} for i, s in units], "group_sizes": sizes,
            "block_length": target}, "expected": {"block": [b for b, _ in placed], "group": [g for _, g in placed]}}


def some(n, step):
    return [(f"b{(u * step) % n:03}", 200 + (u * 37) % 23) for u in range(n)]


counting, beef = bytes(range(32)).hex(), "beef" * 16
seven = [("b1", 240), ("b2", 260), ("b3", 220), ("b4", 260), ("b5", 300), ("b6", 220), ("b7", 280)]
cases = [case("worked_example", counting, seven, [4, 3], 4), case("equal_blocks", beef, some(16, 5), [8, 8], 4),
         case("three_groups_uneven", beef, some(31, 7), [13, 10, 8], 6), case("one_control", counting, some(9, 2), [1, 8], 3),
         case("one_block", beef, some(8, 3), [4, 4], 40), case("four_hundred", counting, some(400, 7), [100, 60, 40, 150, 50], 10)]
print(json.dumps({"method": "lots_blocks_1", "source": "tests/reference/blocks_1.py, written from the description of the method",
                  "source_kind": "own-enumeration", "tolerance": {"n": 0}, "cases": cases}))
