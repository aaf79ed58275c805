"""House rules: the figures a workshop may set for itself, each with its reason.

One table of fields is the source of the defaults, of the generated `workshop.toml`,
and of what the Job sheet may override.  Each field says in words what it is and
where its default comes from (`common practice` or `house default`).
"""

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

COMMON = "common practice"
HOUSE = "house default"

LARGEST = 1_000_000
"""No figure of a workshop comes near this."""

NotNegative = Annotated[Decimal, Field(ge=0, le=LARGEST)]
Positive = Annotated[Decimal, Field(gt=0, le=LARGEST)]
Percent = Annotated[Decimal, Field(ge=0, le=1000)]


def _rule(default: Any, says: str, origin: str = HOUSE) -> Any:
    return Field(default=default, description=says, json_schema_extra={"origin": origin})


class HouseRules(BaseModel):
    """The workshop's own figures, with units in their names; frozen once read."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    name: str = _rule("", "name of the workshop, printed on what the customer sees")
    address: str = _rule("", "address and how to reach you, lines parted by semicolons")
    logo: str = _rule("", "picture for the letterhead, .png or .svg, in the workshop's folder")
    number: str = _rule("", "number of a quotation; empty: the job's name")
    locale: Annotated[str, Field(pattern=r"^[a-z]{2,3}(_[A-Z][a-z]{3})?(_[A-Z]{2})?$")] = _rule(
        "en_GB", "language and country whose numbers and dates are written"
    )
    valid_days: Annotated[int, Field(ge=0, le=3650)] = _rule(
        30, "days for which a quotation stands"
    )
    deposit_percent: Annotated[Decimal, Field(ge=0, le=100)] = _rule(
        Decimal(0), "asked for before the work begins, of the total"
    )
    included: str = _rule(
        "a new loom, made and fitted; every wire tested; lights and brake lamp checked",
        "what a quotation includes, parted by semicolons",
    )
    not_included: str = _rule(
        "faults found in parts that are kept; repairs to lamps, switches and instruments",
        "what a quotation does not include, parted by semicolons",
    )
    terms: str = _rule(
        "Balance due when the machine is collected.", "terms of payment, parted by semicolons"
    )
    volts: Positive = _rule(Decimal(12), "voltage of the machine: 6, 12 or 24", COMMON)
    ambient_c: Annotated[Decimal, Field(ge=-50, le=150)] = _rule(
        Decimal(40), "air temperature around the loom, degrees C"
    )
    conductor_c: Annotated[Decimal, Field(ge=-50, le=200)] = _rule(
        Decimal(60), "conductor temperature at which voltage drop is worked out, degrees C"
    )
    longest_run_m: Positive = _rule(
        Decimal(12), "a length above this is asked about: were millimetres meant?"
    )
    end: str = _rule("bullet joint", "end style where neither wire nor component names one", COMMON)
    end_mm: NotNegative = _rule(Decimal(40), "allowance for stripping and crimping at each end, mm")
    step_mm: Annotated[int, Field(gt=0, le=LARGEST)] = _rule(
        10, "pieces are rounded up to whole steps, mm"
    )
    run_percent: Percent = _rule(
        Decimal(5), "allowance on a measured run for lay, bends and corners", COMMON
    )
    cable_spare_percent: Percent = _rule(Decimal(5), "spare cable of each gauge and colour")
    terminal_spare_percent: Percent = _rule(
        Decimal(10), "spare terminals, covers, seals and splices; 0 for none", COMMON
    )
    terminal_spare_min: Annotated[int, Field(ge=0, le=LARGEST)] = _rule(
        2, "at least so many spares of each terminal, cover, seal and splice used"
    )
    covering_waste_percent: Percent = _rule(Decimal(10), "waste on tape, tube and braid", COMMON)
    fuse_spares: Annotated[int, Field(ge=0, le=LARGEST)] = _rule(
        1, "spare fuses of each rating used", COMMON
    )
    useful_offcut_mm: Annotated[int, Field(ge=0, le=LARGEST)] = _rule(
        300, "an offcut shorter than this is scrap, mm"
    )
    trim_mm: Annotated[int, Field(ge=0, le=LARGEST)] = _rule(0, "lost at every cut of a cable, mm")
    reel_end_mm: Annotated[int, Field(ge=0, le=LARGEST)] = _rule(
        0, "lost at the end of every new reel, mm"
    )
    tape_width_mm: Positive = _rule(Decimal(19), "width of the loom tape, mm", COMMON)
    tape_overlap_percent: Annotated[Decimal, Field(ge=0, lt=100)] = _rule(
        Decimal(50), "how much of each turn lies on the last one", COMMON
    )
    tape_thickness_mm: NotNegative = _rule(Decimal("0.13"), "thickness of the loom tape, mm")
    tube_clearance_percent: Percent = _rule(
        Decimal(15), "how much wider than the bundle a tube or braid must be"
    )
    shrink_end_mm: NotNegative = _rule(
        Decimal(40), "heat-shrink over each end of a braid, and over a lug or splice, mm"
    )
    grouping: str = _rule(
        "IEC 60364-5-52 row 1",
        "table for wires bunched together (catalogs/grouping.csv), or none",
    )
    alternator_idle_w: NotNegative = _rule(
        Decimal(0), "what the alternator gives at idle, W; 0: not known"
    )
    alternator_road_w: NotNegative = _rule(
        Decimal(0), "what the alternator gives at road speed, W; 0: not known"
    )
    likely_percent: Percent = _rule(
        Decimal(20), "share of the time that intermittent loads are reckoned on for charging"
    )
    main_fuse_mm: NotNegative = _rule(
        Decimal(300), "wire between the battery and its main fuse at the most, mm", COMMON
    )
    fuse_load_percent: Annotated[Decimal, Field(gt=0, le=100)] = _rule(
        Decimal(75), "a fuse carries at most this share of its rating (Lundy, EDN, 1996)"
    )
    drop_percent: Positive = _rule(
        Decimal(3), "voltage drop allowed: lighting, ignition, charging (there and back)"
    )
    drop_percent_other: Positive = _rule(
        Decimal(10), "voltage drop allowed: all other circuits (there and back)"
    )
    gauges: tuple[str, ...] = _rule(
        (), "cable sizes the shop keeps, in mm2 or AWG; empty: every size in mm2"
    )
    cover_hidden: Literal["tape", "tube", "braid", "none"] = _rule(
        "tape", "covering of a branch that is hidden", COMMON
    )
    cover_weather: Literal["tape", "tube", "braid", "none"] = _rule(
        "tube", "covering where the weather gets at it or things move", COMMON
    )
    cover_show: Literal["tape", "tube", "braid", "none"] = _rule(
        "braid", "covering where it shows: braid over PVC tube, ends in heat-shrink", COMMON
    )
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")] = _rule(
        "GBP", "currency of all prices, three letters (ISO 4217)"
    )
    tax_percent: Percent = _rule(Decimal(20), "value added tax on the total")
    markup_percent: Percent = _rule(Decimal(0), "added to the cost of materials")
    hourly_rate: NotNegative = _rule(Decimal(0), "labour, per hour, without tax")
    labour_percent: Annotated[Decimal, Field(ge=-90, le=1000)] = _rule(
        Decimal(0), "added to counted and typed labour hours; below 0 where you are quicker"
    )
    leftover_worth: Annotated[Decimal, Field(ge=0, le=1)] = _rule(
        Decimal(0), "share of its price at which bought cable left over is credited, 0 to 1"
    )
    order_seconds: Annotated[Decimal, Field(ge=0, le=3600)] = _rule(
        Decimal(2), "time for finding the cheapest order and proving it, seconds"
    )
    label_columns: Annotated[int, Field(ge=1, le=30)] = _rule(3, "wire labels across a sheet")
    label_rows: Annotated[int, Field(ge=1, le=60)] = _rule(10, "wire labels down a sheet")
    label_margin_mm: Annotated[Decimal, Field(ge=0, le=100)] = _rule(
        Decimal(10), "blank edge of a sheet of wire labels, mm"
    )
    label_gap_mm: Annotated[Decimal, Field(ge=0, le=50)] = _rule(
        Decimal(2), "between two wire labels, mm"
    )
    keep_copies: Annotated[int, Field(ge=0, le=LARGEST)] = _rule(
        10, "copies of the stock book, as it was before each change, kept in .bom; 0 for none"
    )
    price_age_days: Annotated[int, Field(ge=0, le=LARGEST)] = _rule(
        180, "a price older than this is told when something is ordered at it, days"
    )
    order_cost: Positive = _rule(
        Decimal("0.6"),
        "what each line of an order costs the house: its share of postage and time",
    )
    holding_percent: Annotated[Decimal, Field(gt=0, le=1000)] = _rule(
        Decimal(20), "cost of keeping goods on the shelf for a year, per cent of their cost", COMMON
    )
    lead_days: Positive = _rule(Decimal(5), "days from an order to the goods on the shelf")
    service_percent: Annotated[Decimal, Field(gt=0, lt=100)] = _rule(
        Decimal(95),
        "how surely the stock lasts until an order comes, per cent of the times",
        COMMON,
    )

    @classmethod
    def origin(cls, key: str) -> str:
        """Where the default of a rule comes from: `common practice` or `house default`."""
        extra = cls.model_fields[key].json_schema_extra
        return str(extra["origin"]) if isinstance(extra, dict) else HOUSE


PERCENT_KEYS = frozenset(key for key in HouseRules.model_fields if "percent" in key)
WORD_KEYS = frozenset(
    key for key, info in HouseRules.model_fields.items() if isinstance(info.default, str)
)


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
    for key, info in HouseRules.model_fields.items():
        value = name if key == "name" else info.default
        lines.append(f"# {info.description} [{HouseRules.origin(key)}]")
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
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    return str(value)
