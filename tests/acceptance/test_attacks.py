"""Floors that would meet if the record were read kindly: each judged through the command.

What an opposing expert would say of each stands beside it; the complete floors at the end meet.
"""

from __future__ import annotations

import pytest
from invented_folder import (
    AFTER,
    BEFORE,
    BOTTLE,
    CARBIDE,
    HEATED,
    HOODS,
    IN_SITU,
    ROOM,
    STORE,
    SUSPENDED,
    holes,
    hoods,
    probe,
    samples,
    verdict_of,
)

DAYS = dict.fromkeys(("drilled", "lined", "placed"), "2026-03-08")
COATS = (
    "acrylic coating",
    "primed",
    "waxed",
    "old adhesive residue",
    "levelling compound",
    "tiled",
    "PU",
    "wet",
    "ground 1 h before",
)
LATER = {
    "drilled": "2026-03-12 10:00",
    "lined": "2026-03-12 10:00",
    "placed": "2026-03-12 10:00",
    "read": "2026-03-14 10:00",
}
EARLY = {
    "drilled": "2026-03-08 01:00",
    "lined": "2026-03-08 02:00",
    "placed": "2026-03-08 02:00",
    "read": "2026-03-09 04:00",
    "value": 92,
}
DAYS_AGO = {
    "drilled": "2026-03-03 01:00",
    "lined": "2026-03-03 02:00",
    "placed": "2026-03-03 02:00",
    "read": "2026-03-05 04:00",
    "value": 92,
}
FAILED_FIRST = (("2026-03-08T09:00:00", "NaCl", 70.0), *BEFORE, *AFTER)
FAILED_AFTER = (*BEFORE, *AFTER, ("2026-03-10T15:00:00", "NaCl", 70.4))
FROM_FIRST = (("2026-03-03T08:00:00", "NaCl", 75.07), ("2026-03-03T08:20:00", "KCl", 84.7), *AFTER)
UNPLACED = [
    {name: one for name, one in row.items() if name not in ("x", "y")}
    | {"room": "shop", "hole": "H1"}
    for row in holes()[:3]
]
HIDDEN = [
    *holes(),
    {**holes()[0], "x": 1.0, "hole": "H5"},
    {**holes()[0], **LATER},
]
HIDDEN[0] = {**HIDDEN[0], "value": 92}
THIN_SCAN = "x,y,value\n1,1,95\n2,2,30\n3,3,31\n4,4,30\n5,5,29\n"
OWN_LIMIT = 'limit = { method = "in-situ-rh", value = 75, unit = "%RH", source = "sheet" }\n'

ATTACKS = {
    "decided before the check after the job": (holes(), {"as_of": "2026-03-09"}),
    "decided before the second reading": (hoods(), {"limit": HOODS, "as_of": "2026-03-09"}),
    "a re-read of tomorrow hides a failure of today": (HIDDEN, {"as_of": "2026-03-12"}),
    "a wait of 24 h by days alone": (holes(**DAYS, read="2026-03-09"), {}),
    "24 h between two readings by days alone": (
        hoods(read="2026-03-09 23:00", second_read="2026-03-10"),
        {"limit": HOODS},
    ),
    "a room without a limit": (holes(), {"rooms": ROOM + OWN_LIMIT + STORE, "limit": ""}),
    "two drying faces on the ground": (
        holes(depth_mm=30),
        {"rooms": ROOM.replace("faces = 1", "faces = 2")},
    ),
    "a thinner slab at the hole": (holes(depth_mm=40, thickness_mm=100), {}),
    "a place in another room than named": (
        [*holes(), *({**row, "x": row["x"] + 8.2, "room": "shop"} for row in holes())],
        {"rooms": ROOM + STORE},
    ),
    "one hole without a place, three times": (UNPLACED, {"rooms": SUSPENDED}),
    "a failed check repeated until it passed": (holes(), {"instruments": probe(FAILED_FIRST)}),
    "a check that failed later that day": (holes(), {"instruments": probe(FAILED_AFTER)}),
    "a dash for a reason": ([{**holes()[0], **EARLY}, *holes(reread_reason="-")], {}),
    "n/a for a reason": ([{**holes()[0], **EARLY}, *holes(reread_reason="n/a")], {}),
    "92 to 70 %RH in four days": (
        [{**holes()[0], **DAYS_AGO}, *holes()],
        {"instruments": probe(FROM_FIRST)},
    ),
    "a probe warmed with its hole over a cold slab": (
        holes(probe_temperature_c=20, slab_temperature_c=17),
        {},
    ),
    "a carbide sample nobody weighed": (
        samples(sample_mass_g=""),
        {"limit": CARBIDE, "instruments": BOTTLE},
    ),
    "a carbide sample of 5 g": (
        samples(sample_mass_g=5),
        {"limit": CARBIDE, "instruments": BOTTLE},
    ),
    "a carbide sample of the skin": (
        samples(depth_mm=10),
        {"limit": CARBIDE, "instruments": BOTTLE},
    ),
    "a carbide sample of nobody knows which depth": (
        samples(depth_mm=""),
        {"limit": CARBIDE, "instruments": BOTTLE},
    ),
    "2.3 CM-% on the sheet, 1.6 by the bottle": (
        samples(value=2.3, pressure_bar=0.8),
        {"limit": CARBIDE, "instruments": BOTTLE},
    ),
    "a heated screed sampled anywhere": (
        samples(depth_mm=60),
        {"limit": CARBIDE, "instruments": BOTTLE, "rooms": HEATED},
    ),
    "four tests in one corner of a floor nobody scanned": (
        [{**hole, "x": 0.6 + 0.6 * n, "y": 0.6} for n, hole in enumerate(holes())],
        {"rooms": SUSPENDED},
    ),
    "a screed of which nobody says whether it is heated": (
        samples(depth_mm=60),
        {
            "limit": CARBIDE,
            "instruments": BOTTLE,
            "rooms": HEATED.replace("heated = true\n", ""),
        },
    ),
    "the highest reading of a thin scan left untested": (holes(), {"readings": THIN_SCAN}),
    **{
        f"a hood on a floor that is {coat}": (hoods(surface=coat), {"limit": HOODS})
        for coat in COATS
    },
}


@pytest.mark.thorough
@pytest.mark.parametrize("attack", ATTACKS)
def test_a_record_is_read_as_the_other_side_would(attack, tmp_path):
    """None of them meets."""
    tests, changes = ATTACKS[attack]
    assert verdict_of(tmp_path / "shop", tests, **changes) not in ("meets", "refused")


@pytest.mark.thorough
def test_leaving_the_scan_out_does_not_help(tmp_path):
    """The highest reading of the scan is asked for a test all the same."""
    folder = tmp_path / "shop"
    assert verdict_of(folder, holes(), "--no-scan", readings=THIN_SCAN) == "not proven"
    near = [*holes(), {**holes()[0], "hole": "H5", "x": 1.2, "y": 1.2}]
    assert verdict_of(folder, near, "--no-scan", readings=THIN_SCAN) == "meets"


GOOD = {
    "holes": (holes(), {}),
    "holes on the last day": (holes(), {"as_of": "2026-04-08"}),
    "hoods": (hoods(), {"limit": HOODS}),
    "hoods on a floor free of coating": (
        hoods(surface="bare, free of coating; old adhesive removed"),
        {"limit": HOODS},
    ),
    "carbide": (samples(), {"limit": CARBIDE, "instruments": BOTTLE}),
    "tests all over a floor nobody scanned": (holes(), {"rooms": SUSPENDED}),
    "carbide in a screed without heating": (
        samples(depth_mm=60),
        {
            "limit": CARBIDE,
            "instruments": BOTTLE,
            "rooms": HEATED.replace("heated = true", "heated = false"),
        },
    ),
    "a heated screed at its marks": (
        samples(depth_mm=60, marked_point="yes"),
        {"limit": CARBIDE, "instruments": BOTTLE, "rooms": HEATED},
    ),
    "a stated reason": (
        [{**holes()[0], **EARLY}, *holes(reread_reason="the plug was found open")],
        {"limit": IN_SITU},
    ),
}


@pytest.mark.parametrize("floor", GOOD)
def test_a_complete_record_meets(floor, tmp_path):
    """So the rules can be kept."""
    tests, changes = GOOD[floor]
    assert verdict_of(tmp_path / "shop", tests, **changes) == "meets"


def test_what_was_chosen_stands_in_the_sentence(tmp_path):
    """Rules changed by a file and another risk are told where the floor meets."""
    from click.testing import CliRunner

    from moisturemap.cli import main

    folder, rules = tmp_path / "shop", tmp_path / "ours.toml"
    rules.write_text('[[rule]]\nid = "f2170-conditioned"\noff = true\n')
    assert verdict_of(folder, holes(conditioned_hours=1), "--rules", str(rules)) == "meets"
    call = ["decide", str(folder), "--as-of", "2026-03-11", "--rules", str(rules), "--risk", "20"]
    told = " ".join(CliRunner().invoke(main, call).stdout.split())
    assert "changed by ours.toml: f2170-conditioned" in told
    assert "risk of 20% was chosen in place of 5.0%" in told
