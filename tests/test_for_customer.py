"""What the customer reads beside the price: one heading, the volts, what is fitted, own words."""

import json
from datetime import date
from pathlib import Path

import pytest

from bom.estimate import quote_for
from bom.job import open_job
from bom.show.for_customer import what_is_in_it
from bom.show.paper import pdf
from bom.show.paper.letters import quotation_sheet
from tests.books import book
from tests.test_papers import pages, text_of
from tests.within import bom

WIRES = ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "length")
SOLD_AS = {"mm": "metre", "each": "each"}


def machine(tmp_path: Path, *rules: tuple[str, object]) -> Path:
    """A headlamp of two filaments, four indicators, a relay, a regulator."""
    lamps = [
        (
            f"T{n}",
            "indicators",
            f"battery:+ {side}",
            f"indicator {side}",
            "green",
            "1.0",
            "10 W",
            "main",
            1,
        )
        for n, side in enumerate(("FL", "FR", "RL", "RR"))
    ]
    earths = [
        (f"E{n}", "earth", point, f"battery:- {n}", "black", "1.0", None, None, 1)
        for n, point in enumerate(
            ("head lamp:31", "regulator:31", "horn relay:85", "rear lamp:31"), start=1
        )
    ]
    return book(
        tmp_path,
        Job=[("item", "value"), *rules],
        Circuits=[
            WIRES,
            (
                "1",
                "main beam",
                "battery:+ 1",
                "head lamp:main",
                "blue",
                "1.0",
                "H4 main",
                "main",
                1,
            ),
            ("2", "dip beam", "battery:+ 2", "head lamp:dip", "red", "1.0", "H4 dip", "main", 1),
            ("3", "relay", "battery:+ 3", "horn relay:86", "purple", "1.0", "0.15 A", "main", 1),
            ("4", "charging", "regulator:+", "battery:+ 4", "white", "3.0", "10 A", "charge", 1),
            ("5", "rear", "battery:+ 5", "rear lamp:1", "red", "1.0", "5 W", "main", 1),
            *lamps,
            *earths,
        ],
        Components=[("component", "passes"), ("regulator", "none")],
        Extras=[("item", "qty", "unit", "price"), ("bracket", 2, None, 3), ("hose", 0.5, "m", 2)],
        Labour=[("task", "hours", "doubt %"), ("strip old loom", 3, 20), ("test ride", 1, None)],
    )


@pytest.mark.parametrize(("volts", "beams"), [(12, "55/60"), (24, "70/75")])
def test_it_names_volts_lamps_and_the_owners_words(tmp_path: Path, volts: int, beams: str) -> None:
    """H4 is 60 and 55 W at 12 V, 75 and 70 W at 24 V (catalogs/loads.csv); the rest as typed."""
    job = open_job(machine(tmp_path, ("volts", volts)))
    assert what_is_in_it(job) == (
        f"{volts} V, wired for head lamp H4 {beams} W, rear lamp 5 W, 4 indicators 10 W, "
        "regulator, 1 relay",
        "work beside the loom: strip old loom; test ride",
        "parts beside the loom: 2 x bracket; 0.5 m hose",
    )


@pytest.mark.parametrize(
    ("lamps", "says"),
    [
        # the load of each of its wires; catalogs/loads.csv has what it takes at 12 V
        ({"head lamp": ["HS1 main", "HS1 dip"]}, "head lamp HS1 35/35 W"),
        ({"head lamp": ["LED headlamp", "LED headlamp dip"]}, "head lamp LED 20 W and 30 W"),
        ({"tail lamp": ["LED tail", "LED stop"]}, "tail lamp LED 1 W and 3 W"),
        ({"tail lamp": ["P21/5W tail", "P21/5W stop"]}, "tail lamp P21/5W"),
        ({"tail lamp": ["5 W", "21 W"]}, "tail lamp 5/21 W"),
        ({"tail lamp": ["R5W"]}, "tail lamp R5W"),
        ({"tail lamp": ["R5W", "21 W"]}, "tail lamp 5/21 W"),  # they share no word
        ({"head lamp": ["55 W headlamp as reckoned"]}, "head lamp 60 W"),
        ({"tail lamp": ["12 V 5 W"]}, "tail lamp 5 W"),
        (
            {f"indicator {side}": ["LED indicator"] for side in ("FL", "FR", "RL", "RR")},
            "4 indicators LED 2 W",
        ),
        # the headlamp first, and what warns by its number
        (
            {
                "side lamp": ["W5W"],
                "oil lamp": ["oil lamp"],
                "turn lamp L": ["indicator lamp"],
                "turn lamp R": ["indicator lamp"],
                "head lamp": ["H7"],
            },
            "head lamp H7 55 W, side lamp W5W, 3 warning lamps",
        ),
        # outside on the machine it is no warning lamp
        ({"indicator lamp L": ["21 W"]}, "indicator lamp L 21 W"),
        (
            {"instrument": ["LED warning lamp", "speedometer"]},
            "instrument with warning lamps",
        ),
        ({"starter motor": ["100 A"], "ignition coil": ["4 A"]}, "starter motor"),
        (
            {"horn left": ["4 A"], "horn right": ["4 A"], "USB socket": ["24 W"]},
            "2 horns, USB socket",
        ),
        ({"speedometer": ["speedometer"], "flasher unit": ["flasher unit"]}, "speedometer"),
    ],
)
def test_lamps_by_what_is_stamped_on_them(
    tmp_path: Path, lamps: dict[str, list[str]], says: str
) -> None:
    """Bulbs and LEDs by their names, watts where the name has none, never a third of a watt."""
    ends = [(point, pin, load) for point, of in lamps.items() for pin, load in enumerate(of)]
    rows = [
        (f"{n}", "lamps", f"battery:+ {n}", f"{point}:{pin}", "red", "6.0", load, "none", 1)
        for n, (point, pin, load) in enumerate(ends)
    ]
    earths = [
        (f"E{n}", "earth", f"{point}:31", f"battery:- {n}", "black", "6.0", None, None, 1)
        for n, point in enumerate(lamps)
    ]
    path = book(tmp_path, Job=[("item", "value")], Circuits=[WIRES, *rows, *earths])
    assert what_is_in_it(open_job(path)) == (f"12 V, wired for {says}",)


def priced(tmp_path: Path, heading: str) -> Path:
    """The machine in a workshop whose only supplier sells all it needs at 1.00."""
    path = machine(tmp_path, ("heading", heading), ("hourly_rate", 40))
    (tmp_path / "workshop.toml").touch()
    wanted = json.loads(bom("prices", "wanted", path, "--json").stdout)["wanted"]
    rows = [
        ("Abel", *map(need.get, ("item", "gauge", "colour")), SOLD_AS[need["unit"]], 1)
        for need in wanted
    ]
    heads = ("supplier", "item", "gauge", "colour", "sold as", "price")
    book(tmp_path, "prices.xlsx", Prices=[heads, *rows])
    return path


@pytest.mark.parametrize("heading", ["Estimate", "Quotation"])
def test_one_word_over_and_under_the_price(tmp_path: Path, heading: str) -> None:
    """On the customer's sheet, on screen and as PDF, the other word is nowhere."""
    path = priced(tmp_path, heading)
    paper = tmp_path / "out.pdf"
    screen = bom("quote", path, "--customer", "--pdf", paper).stdout
    other = {"Estimate": "quotation", "Quotation": "estimate"}[heading]
    for told in (screen.partition("next:")[0], text_of(paper.read_bytes())):
        assert heading in told
        assert other not in told.casefold()
        assert "12 V, wired for" in told
        assert "strip old loom" in told
        assert "2 x bracket" in told


def test_a_fixed_price_has_no_range(tmp_path: Path) -> None:
    """What is likely belongs under an estimate; for the workshop's own eyes it stands anyway."""
    for heading, shown in (("Estimate", True), ("Quotation", False)):
        path = priced(tmp_path / heading, heading)
        assert ("likely between" in bom("quote", path, "--customer").stdout) is shown
        assert "likely between" in bom("quote", path).stdout


def test_another_word_is_refused(tmp_path: Path) -> None:
    """With the cell, and the two that may stand there."""
    done = bom("check", machine(tmp_path, ("heading", "Offer")))
    assert done.returncode == 1
    assert "Estimate or Quotation" in done.stderr


def test_no_page_has_the_last_box_alone(tmp_path: Path) -> None:
    """However much is included, what follows on a second page is more than `Take care`."""
    bought, quote = quote_for(priced(tmp_path, "Estimate"))
    assert quote
    shown = quotation_sheet(bought.jobs[0], quote, date(2026, 11, 25), None)
    counts = set()
    for included in range(20, 40):
        words = {"included": [f"thing {number}" for number in range(included)], "terms": []}
        printed = pages(pdf("quotation", {**shown, **words}))
        counts.add(len(printed))
        assert not printed[-1].text.startswith("Take care")
    assert counts == {1, 2}
