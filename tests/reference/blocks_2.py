"""Drawing lots by the method blocks/2, from its description alone; prints 12_lots_blocks_2.own.json."""
import hashlib, itertools, json


def classes(units, k, target):
    kinds = {}
    for u, (_, cultivar, _) in enumerate(units):
        kinds.setdefault(cultivar, []).append(u)
    mixed = kinds.pop("", [])
    for name in [name for name in kinds if len(kinds[name]) < k]:
        mixed += kinds.pop(name)
    if 0 < len(mixed) < k and kinds:
        mixed += kinds.pop(min(kinds, key=lambda name: (len(kinds[name]), name.encode())))
    rows = [(name, kinds[name]) for name in sorted(kinds, key=str.encode)] + ([("", mixed)] if mixed else [])
    done = []
    for name, row in rows:
        row, cut = sorted(row, key=lambda u: (units[u][2], units[u][0].encode())), [[]]
        for _, run in itertools.groupby(row, key=lambda u: units[u][2]):
            run, n = list(run), len(cut[-1])
            if n >= k and abs(n + len(run) - target) > abs(n - target):
                cut.append([])
            cut[-1] += run
        if len(cut) > 1 and len(cut[-1]) < k:
            last = cut.pop()
            cut[-1] += last
        done += [(name, c) for c in cut]
    return done


def draw(seed, units, sizes, target):
    n, counter, filled = len(units), 0, 0
    placed, given, found = [None] * n, [0] * len(sizes), classes(units, len(sizes), target)
    for b, (_, members) in enumerate(found):
        row, filled = [], filled + len(members)
        for _ in members:
            g = max(range(len(sizes)), key=lambda g: (sizes[g] * filled - n * given[g], sizes[g], -g))
            given[g], row = given[g] + 1, row + [g]
        row.sort()
        for i in range(len(row) - 1, 0, -1):
            x = 2**64
            while x >= 2**64 // (i + 1) * (i + 1):
                x = int.from_bytes(hashlib.sha256(seed + counter.to_bytes(8, "big")).digest()[:8], "big")
                counter += 1
            j = x % (i + 1)
            row[i], row[j] = row[j], row[i]
        for u, g in zip(members, row):
            placed[u] = [b, g]
    return placed, [name for name, _ in found]


def case(name, seed, units, sizes, target):
    placed, cultivars = draw(bytes.fromhex(seed), units, sizes, target)
    return {"name": name, "input": {"seed": seed, "units": [{"id": i, "cultivar": c, "size": s} for i, c, s in units],
            "group_sizes": sizes, "class_length": target},
            "expected": {"block": [b for b, _ in placed], "group": [g for _, g in placed], "cultivars": cultivars}}


def some(n, step, names, sizes=23):
    return [(f"b{(u * step) % n:03}", names[u * 11 % len(names)], 200 + (u * 37) % sizes) for u in range(n)]


counting, beef = bytes(range(32)).hex(), "beef" * 16
ten = [("b1", "Red", 260), ("b2", "White", 240), ("b3", "Red", 220), ("b4", "Red", 260), ("b5", "Red", 300),
       ("b6", "White", 220), ("b7", "Red", 280), ("b8", "Candy", 250), ("b9", "", 0), ("ba", "White", 240)]
grades = [(f"b{u:03}", "Red", [270, 290, 310][u % 7 // 3]) for u in range(30)]
cases = [case("worked_example", counting, ten, [5, 5], 4),
         case("two_cultivars", beef, some(16, 5, ["Candy", "Old Red"]), [8, 8], 8),
         case("three_groups_uneven", beef, some(31, 7, ["A", "B", "B", "C", ""]), [13, 10, 8], 12),
         case("units_of_one_size_stay_together", counting, grades, [15, 15], 8),
         case("all_of_one_size", beef, [(f"b{u:03}", "Red", 0) for u in range(9)], [5, 4], 8),
         case("one_bulb_of_a_cultivar", counting, some(12, 5, ["Red"]) + [("c000", "White", 210)], [7, 6], 8),
         case("every_bulb_another_cultivar", beef, [(f"b{u:03}", f"No. {u}", 200 + u * u % 17) for u in range(11)], [6, 5], 8),
         case("names_beyond_ascii", beef, some(20, 3, ["Zürich", "Äpfel", "apple", "Zug"]), [7, 7, 6], 4),
         case("all_at_once", counting, [(i, "", s) for i, _, s in some(8, 3, [""])], [4, 4], 1000000),
         case("four_hundred", counting, some(400, 7, ["A", "B", "C", "D", "E"]), [100, 60, 40, 150, 50], 20)]
print(json.dumps({"method": "lots_blocks_2", "source": "tests/reference/blocks_2.py, written from the description of the method",
                  "source_kind": "own-enumeration", "tolerance": {"n": 0}, "cases": cases}))
