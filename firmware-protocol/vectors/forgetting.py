"""Section 6 of SPEC.md, FP-6.5: which of the messages it still holds a unit may forget on a receipt.

What may go is written out by hand beside each receipt, not worked out from it.
"""
from cbor_writer import encode
from messages import COUNT, receipt

forgetting = []


def forget(name, stored, goes=(), stays=()):
    """`goes` and `stays`: pairs of boot and sequence, all held when the receipt comes."""
    entries = [{"boot": boot, "through": through, "holes": holes} for boot, through, holes in stored]
    wire, _ = receipt(stored=entries)
    held = sorted([*map(list, goes), *map(list, stays)])
    forgetting.append({"name": name, "receipt": encode(wire).hex(), "held": held, "forgets": sorted(map(list, goes))})


def cases():
    forget("nothing is stored yet", [], stays=[(0, 0), (12, 340)])
    forget("the first message is stored", [(12, 0, [])], goes=[(12, 0)], stays=[(12, 1)])
    forget("all up to the end goes, and nothing after it", [(12, 340, [])], [(12, 0), (12, 339), (12, 340)], [(12, 341)])
    forget("another boot is no business of it", [(12, 340, [])], [(12, 7)], [(11, 7), (13, 7), (0, 7)])
    forget("a hole of one stays", [(12, 340, [[17, 17]])], [(12, 16), (12, 18)], [(12, 17)])
    forget(
        "a hole stays with both its edges",
        [(12, 340, [[200, 212]])],
        [(12, 199), (12, 213)],
        [(12, 200), (12, 206), (12, 212)],
    )
    forget("a hole at the beginning stays", [(12, 9, [[0, 3]])], [(12, 4), (12, 9)], [(12, 0), (12, 3), (12, 10)])
    forget("a hole just before the end stays", [(12, 9, [[2, 8]])], [(12, 1), (12, 9)], [(12, 2), (12, 8)])
    forget(
        "what lies between two holes goes",
        [(12, 20, [[2, 4], [6, 8]])],
        [(12, 1), (12, 5), (12, 9)],
        [(12, 2), (12, 4), (12, 6), (12, 8)],
    )
    forget(
        "each boot goes by its own entry",
        [(11, 1203, []), (12, 340, [[17, 17]])],
        [(11, 17), (11, 1203), (12, 340)],
        [(11, 1204), (12, 17), (12, 341), (12, 1203)],
    )
    forget("a boot's hole is none of another boot", [(3, 9, [[4, 4]]), (4, 9, [])], [(4, 4)], [(3, 4)])
    forget("the largest boot and sequence go", [(COUNT, COUNT, [])], [(COUNT, COUNT), (COUNT, 0)], [(COUNT - 1, COUNT)])
    forget("a hole up to just before the largest", [(0, COUNT, [[1, COUNT - 1]])], [(0, 0), (0, COUNT)], [(0, 1), (0, COUNT - 1)])
