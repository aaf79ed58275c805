"""House rules: the figures a workshop may set for itself, each with its reason.

One table of fields is the source of the defaults, of the generated `workshop.toml`,
and of what the Job sheet may override.  Each field says in words what it is and
where its default comes from (`common practice` or `house default`).
"""

from decimal import Decimal
from typing import Annotated, Any, get_args

from msgspec import Struct

from bom.trade.rule import COMMON, Rule, above_0, figure_of, from_0, money, percent, within, word_of

BLANK = Decimal(0)
"""Stands for a rule that nobody set, where that says something of its own."""


class HouseRules(Struct, frozen=True, kw_only=True):
    """The workshop's own figures, with units in their names; frozen once read."""

    name: Annotated[str, Rule("name of the workshop, printed on what the customer sees")] = ""
    address: Annotated[str, Rule("address and how to reach you, lines parted by semicolons")] = ""
    logo: Annotated[
        str, Rule("picture for the letterhead, .png or .svg, in the workshop's folder")
    ] = ""
    number: Annotated[
        str, Rule("number a quotation is given under; empty: the next of the year")
    ] = ""
    heading: Annotated[
        str,
        Rule(
            "over what the customer gets: Estimate, or Quotation where the price is fixed",
            pattern="Estimate|Quotation",
            pattern_says="Estimate or Quotation",
        ),
    ] = "Estimate"
    locale: Annotated[
        str,
        Rule(
            "language and country whose numbers and dates are written",
            pattern=r"[a-z]{2,3}(_[A-Z][a-z]{3})?(_[A-Z]{2})?",
            pattern_says="a language and a country",
        ),
    ] = "en_GB"
    valid_days: Annotated[
        int, Rule("days for which a quotation stands", at_least=0, at_most=3650, why="ten years")
    ] = 30
    deposit_percent: Annotated[
        Decimal,
        Rule(
            "asked for before the work begins, of the total",
            at_least=0,
            at_most=100,
            why="all of it",
        ),
    ] = Decimal(0)
    included: Annotated[str, Rule("what a quotation includes, parted by semicolons")] = (
        "a new loom, made and fitted; every wire tested; lights and brake lamp checked"
    )
    not_included: Annotated[
        str, Rule("what a quotation does not include, parted by semicolons")
    ] = "faults found in parts that are kept; repairs to lamps, switches and instruments"
    terms: Annotated[str, Rule("terms of payment, parted by semicolons")] = (
        "Balance due when the machine is collected."
    )
    volts: Annotated[
        Decimal,
        above_0("voltage of the machine: 6, 12 or 24", 120, "more is no extra-low voltage", COMMON),
    ] = Decimal(12)
    ambient_c: Annotated[
        Decimal,
        Rule(
            "air temperature around the loom, degrees C",
            at_least=-50,
            at_most=150,
            why="no air round a loom is hotter",
        ),
    ] = Decimal(40)
    conductor_c: Annotated[
        Decimal,
        Rule(
            "conductor temperature at which voltage drop is worked out, degrees C",
            at_least=-50,
            at_most=200,
            why="no insulation stands more",
        ),
    ] = Decimal(60)
    longest_run_m: Annotated[
        Decimal,
        above_0(
            "a length above this is asked about: were millimetres meant?",
            100,
            "more than any vehicle is long",
        ),
    ] = Decimal(12)
    end: Annotated[str, Rule("end style where neither wire nor component names one", COMMON)] = (
        "bullet joint"
    )
    in_line_end: Annotated[
        str, Rule("end style at each side of an in-line fuse holder, in its wire", COMMON)
    ] = "splice"
    end_mm: Annotated[
        Decimal,
        from_0(
            "allowance for stripping and crimping at each end, mm",
            1000,
            "an allowance for one crimp",
        ),
    ] = Decimal(40)
    step_mm: Annotated[
        int,
        above_0(
            "pieces are rounded up to whole steps, mm", 1000, "every piece is rounded up by that"
        ),
    ] = 10
    run_percent: Annotated[
        Decimal, percent("allowance on a measured run for lay, bends and corners", COMMON)
    ] = Decimal(5)
    cable_spare_percent: Annotated[Decimal, percent("spare cable of each gauge and colour")] = (
        Decimal(5)
    )
    terminal_spare_percent: Annotated[
        Decimal, percent("spare terminals, covers, seals and splices; 0 for none", COMMON)
    ] = Decimal(10)
    terminal_spare_min: Annotated[
        int,
        from_0(
            "at least so many spares of each terminal, cover, seal and splice used",
            1000,
            "spares of each kind",
        ),
    ] = 2
    covering_waste_percent: Annotated[Decimal, percent("waste on tape, tube and braid", COMMON)] = (
        Decimal(10)
    )
    fuse_spares: Annotated[
        int, from_0("spare fuses of each rating used", 1000, "spares of each rating", COMMON)
    ] = 1
    useful_offcut_mm: Annotated[
        int, from_0("an offcut shorter than this is scrap, mm", 100_000, "longer than most reels")
    ] = 300
    trim_mm: Annotated[
        int, from_0("lost at every cut of a cable, mm", 1000, "the loss at one cut")
    ] = 0
    reel_end_mm: Annotated[
        int,
        from_0("lost at the end of every new reel, mm", 10_000, "the loss at the end of one reel"),
    ] = 0
    tape_width_mm: Annotated[
        Decimal, above_0("width of the loom tape, mm", 300, "no tape is wider", COMMON)
    ] = Decimal(19)
    tape_overlap_percent: Annotated[
        Decimal, Rule("how much of each turn lies on the last one", COMMON, at_least=0, below=100)
    ] = Decimal(50)
    tape_thickness_mm: Annotated[
        Decimal, from_0("thickness of the loom tape, mm", 10, "no tape is thicker")
    ] = Decimal("0.13")
    tube_clearance_percent: Annotated[
        Decimal, percent("how much wider than the bundle a tube or braid must be")
    ] = Decimal(15)
    shrink_end_mm: Annotated[
        Decimal,
        from_0(
            "heat-shrink over each end of a braid, and over a lug or splice, mm",
            1000,
            "heat-shrink over one end",
        ),
    ] = Decimal(40)
    room_mm: Annotated[
        int, from_0("free room on each side of a box in its place, mm", 500, "half a metre")
    ] = 5
    air_mm: Annotated[
        int, from_0("the same of what gets hot, or has air in its note, mm", 500, "half a metre")
    ] = 20
    insulation_c: Annotated[
        Decimal,
        Rule(
            "the hottest that a conductor may get, degrees C (ISO 6722, class B: 100)",
            at_least=50,
            at_most=200,
            why="no insulation stands more",
        ),
    ] = Decimal(100)
    floor_amps: Annotated[
        Decimal,
        from_0(
            "above this load a wire is at least of the gauge floor_gauge, A",
            1000,
            "more than a starter motor takes",
        ),
    ] = Decimal("2.5")
    floor_gauge: Annotated[str, Rule("the least gauge above floor_amps", COMMON)] = "1.0"
    line_worth: Annotated[
        Decimal,
        money("what one gauge and colour less to order is worth: thicker cable up to this cost"),
    ] = Decimal("0.50")
    alternator_idle_w: Annotated[
        Decimal,
        from_0(
            "what the alternator gives at idle, W; 0: not known",
            100_000,
            "no vehicle's alternator gives more",
        ),
    ] = Decimal(0)
    alternator_road_w: Annotated[
        Decimal,
        from_0(
            "what the alternator gives at road speed, W; 0: not known",
            100_000,
            "no vehicle's alternator gives more",
        ),
    ] = Decimal(0)
    likely_percent: Annotated[
        Decimal,
        from_0(
            "share of the time that intermittent loads are reckoned on for charging",
            100,
            "all of the time",
        ),
    ] = Decimal(20)
    main_fuse_mm: Annotated[
        Decimal,
        from_0(
            "wire between the battery and its main fuse at the most, mm",
            10_000,
            "ten metres without a fuse",
            COMMON,
        ),
    ] = Decimal(300)
    fuse_load_percent: Annotated[
        Decimal,
        Rule(
            "a fuse carries at most this share of its rating (Lundy, EDN, 1996)",
            above=0,
            at_most=100,
            why="all of its rating",
        ),
    ] = Decimal(75)
    fuse_least_a: Annotated[
        Decimal, from_0("the least rating that is chosen for a fuse, A", 1000, "no fuse is larger")
    ] = Decimal(3)
    drop_percent: Annotated[
        Decimal,
        above_0(
            "voltage drop allowed there and back for lighting, ignition and charging; blank: in "
            "volts, by what the load is (catalogs/drops.csv)",
            100,
            "all of the voltage",
        ),
    ] = BLANK
    drop_percent_other: Annotated[
        Decimal,
        above_0(
            "the same for all other circuits; blank: by what the load is", 100, "all of the voltage"
        ),
    ] = BLANK
    gauges: Annotated[
        tuple[str, ...], Rule("cable sizes the shop keeps, in mm2 or AWG; empty: every size in mm2")
    ] = ()
    cover_hidden: Annotated[str, Rule("covering of a branch that is hidden", COMMON)] = "tape"
    cover_weather: Annotated[
        str, Rule("covering where the weather gets at it or things move", COMMON)
    ] = "tube"
    cover_show: Annotated[
        str, Rule("covering where it shows: braid over PVC tube, ends in heat-shrink", COMMON)
    ] = "braid"
    currency: Annotated[
        str,
        Rule(
            "currency of all prices, three letters (ISO 4217)",
            pattern=r"[A-Z]{3}",
            pattern_says="three capital letters",
        ),
    ] = "GBP"
    tax_percent: Annotated[Decimal, percent("value added tax on the total")] = Decimal(20)
    markup_percent: Annotated[Decimal, percent("added to the cost of materials")] = Decimal(0)
    hourly_rate: Annotated[Decimal, money("labour, per hour, without tax")] = Decimal(0)
    labour_percent: Annotated[
        Decimal,
        Rule(
            "added to counted and typed labour hours; below 0 where you are quicker",
            at_least=-90,
            at_most=1000,
            why="ten times over",
        ),
    ] = Decimal(0)
    leftover_worth: Annotated[
        Decimal,
        Rule(
            "share of its price at which bought cable left over is credited, 0 to 1",
            at_least=0,
            at_most=1,
            why="all of its price",
        ),
    ] = Decimal(0)
    order_seconds: Annotated[
        Decimal,
        Rule(
            "time for finding the cheapest order and proving it, seconds",
            at_least=0,
            at_most=3600,
            why="an hour",
        ),
    ] = Decimal(2)
    label_columns: Annotated[
        int, Rule("wire labels across a sheet", at_least=1, at_most=30, why="no label is narrower")
    ] = 3
    label_rows: Annotated[
        int, Rule("wire labels down a sheet", at_least=1, at_most=60, why="no label is lower")
    ] = 10
    label_margin_mm: Annotated[
        Decimal,
        Rule(
            "blank edge of a sheet of wire labels, mm",
            at_least=0,
            at_most=100,
            why="nothing is left of the sheet",
        ),
    ] = Decimal(10)
    label_gap_mm: Annotated[
        Decimal,
        Rule(
            "between two wire labels, mm",
            at_least=0,
            at_most=50,
            why="nothing is left of the sheet",
        ),
    ] = Decimal(2)
    keep_copies: Annotated[
        int,
        from_0(
            "old copies of stock book and price list kept in .bom, one a month, beside those of "
            "today and one a day for a month; 0 for no copies",
            1000,
            "83 years",
        ),
    ] = 24
    price_age_days: Annotated[
        int,
        from_0(
            "a price older than this is told when something is ordered at it, days",
            3650,
            "ten years",
        ),
    ] = 180
    order_cost: Annotated[
        Decimal,
        above_0(
            "what each line of an order costs the house: its share of postage and time",
            1_000_000,
            "in any currency",
        ),
    ] = Decimal("0.6")
    holding_percent: Annotated[
        Decimal,
        Rule(
            "cost of keeping goods on the shelf for a year, per cent of their cost",
            COMMON,
            above=0,
            at_most=1000,
            why="ten times over",
        ),
    ] = Decimal(20)
    lead_days: Annotated[
        Decimal,
        above_0("days from an order to the goods on the shelf", 1000, "nobody waits for longer"),
    ] = Decimal(5)
    service_percent: Annotated[
        Decimal,
        Rule(
            "how surely the stock lasts until an order comes, per cent of the times",
            COMMON,
            above=0,
            below=100,
        ),
    ] = Decimal(95)


RULES: dict[str, Rule] = {
    key: get_args(kind)[1] for key, kind in HouseRules.__annotations__.items()
}
_KINDS = {key: get_args(kind)[0] for key, kind in HouseRules.__annotations__.items()}
DEFAULTS: dict[str, Any] = dict(
    zip(HouseRules.__struct_fields__, HouseRules.__struct_defaults__, strict=True)
)
RETIRED = {"grouping": "take the line out: the heat of each branch is worked out instead"}
"""Rules of earlier releases that still stand in workshop.toml files, and what to do."""
PERCENT_KEYS = frozenset(key for key in RULES if "percent" in key)
WORD_KEYS = frozenset(key for key, kind in _KINDS.items() if kind is str)
COVER_KEYS = frozenset(key for key in RULES if key.startswith("cover_"))
"""Rules that are a word of `catalogs/layers.csv`."""


def allowed(key: str, value: Any) -> Any:
    """The value of a house rule in its own type; raises `NotAllowed`, KeyError for no rule.

    Numbers may be typed as words, as `"12"`; yes and no are no numbers.

    >>> allowed("volts", "6"), allowed("fuse_spares", Decimal("2.0"))
    (Decimal('6'), 2)
    """
    rule, kind = RULES[key], _KINDS[key]
    if DEFAULTS[key] is BLANK and isinstance(value, str) and not value.strip():
        return BLANK
    if kind is str:
        return word_of(rule, value)
    if kind is Decimal or kind is int:
        number = within(rule, figure_of(value, whole=kind is int))
        return int(number) if kind is int else number
    return tuple(value)


def workshop_toml(name: str) -> str:
    """The text of a new `workshop.toml`: each rule with its reason, in their order here.

    Values are written as comments only where the default is empty, so that the file
    reads as the full list of what can be set.
    """
    lines = [
        "# House rules of this workshop.  This file marks the folder: jobs below it use it.",
        "# Change a figure here for every job, or on a job's own Job sheet for that job.",
        "",
    ]
    for key, rule in RULES.items():
        value = name if key == "name" else DEFAULTS[key]
        lines.append(f"# {rule.says} [{rule.origin}]")
        lines += [f"{key} = {_toml(value)}", ""]
    return "\n".join((*lines, *_OWN_WORDS, ""))


_OWN_WORDS = (
    "# Headings of your own lists and the columns they stand for (bom check JOB --columns):",
    "# [columns]",
    '# "cable number" = "wire"',
)


def _toml(value: object) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if value is BLANK:
        return '""'
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    return str(value)
