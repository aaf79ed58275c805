"""Sizing: a rating for each fuse and a cable for each wire.

Where a rating or a gauge is blank it is chosen here; where it is typed it is kept, and
`check` says what is wrong with it.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from bom.catalogue import IN_LINE, Catalogue
from bom.figures import drop_volts
from bom.house import HouseRules
from bom.parts import Cable, EndStyle
from bom.trade import (
    NO_FUSE,
    ChosenFuse,
    Currents,
    Ends,
    FuseLoad,
    FuseRow,
    JobBook,
    LoadedWire,
    Sized,
    SizedWire,
)


def size(
    book: JobBook, currents: Currents, ends: Ends, rules: HouseRules, catalogue: Catalogue
) -> Sized:
    """Choose ratings and gauges; amps and fractions exact, drop in volts.

    A chosen gauge is the smallest house gauge whose table rating covers load and fuse
    and which fits both ends; the largest that fits where none does.
    """
    fuses = choose_fuses(book, currents.fuses, rules, catalogue)
    amps_of = {fuse.name: fuse.rating for fuse in fuses}
    sizer = _Sizer(ends, rules, catalogue)
    return Sized(tuple(sizer.sized(wire, amps_of) for wire in currents.wires), fuses)


def choose_fuses(
    book: JobBook, loads: Sequence[FuseLoad], rules: HouseRules, catalogue: Catalogue
) -> tuple[ChosenFuse, ...]:
    """A rating for every fuse that a wire names, and for every row that has one typed.

    Blank: the smallest standard rating >= load / (fuse_load_percent / 100); for a fuse
    that feeds other fuses the smallest >= load; the largest there is if none will do.
    """
    rows = {row.name: row for row in book.fuses}
    chosen = [_chosen_fuse(load, rows.get(load.name), rules, catalogue) for load in loads]
    named = {load.name for load in loads}
    unused = [row for row in book.fuses if row.name not in named and row.rating is not None]
    idle = (FuseLoad(name=r.name, amps=Fraction(0), feeds_fuses=False, wires=()) for r in unused)
    return (*chosen, *(_chosen_fuse(load, rows[load.name], rules, catalogue) for load in idle))


def _chosen_fuse(
    load: FuseLoad, row: FuseRow | None, rules: HouseRules, catalogue: Catalogue
) -> ChosenFuse:
    word = row.holder if row else ""
    holder = catalogue.holder(word)
    kind = holder.kind if holder else "blade"
    typed = row.rating if row else None
    ratings = [fuse.amps for fuse in catalogue.ratings(kind)]
    floor = load.least_rating(rules.fuse_load_percent)
    chosen = next((amps for amps in ratings if amps >= floor), ratings[-1])
    return ChosenFuse(
        name=load.name,
        rating=chosen if typed is None else typed,
        load_amps=load.amps,
        kind=kind,
        holder=word or IN_LINE,
        spares=row.spares if row else None,
        typed=typed is not None,
    )


class _Sizer:
    def __init__(self, ends: Ends, rules: HouseRules, catalogue: Catalogue) -> None:
        self.styles = ends.styles
        self.conductor_c = float(rules.conductor_c)
        self.catalogue = catalogue
        self.cables = catalogue.cables
        house = rules.gauges or [g for g, cable in self.cables.items() if not cable.is_awg]
        self.house = sorted((self.cables[g] for g in house), key=lambda cable: cable.area_mm2)

    def sized(self, loaded: LoadedWire, amps_of: Mapping[str, Fraction]) -> SizedWire:
        """One wire with its cable; the fuse is null for returns and for `none`."""
        wire = loaded.wire
        fuse = None if loaded.fuse in (None, NO_FUSE) else amps_of[str(loaded.fuse)]
        cable = self.cables[wire.gauge] if wire.gauge else self._choose(loaded, fuse)
        return SizedWire(
            loaded=loaded,
            cable=cable,
            start_end=self.styles[wire.label, "from end"],
            finish_end=self.styles[wire.label, "to end"],
            fuse_amps=fuse,
            drop_volts=drop_volts(
                float(loaded.amps),
                loaded.measured.piece_mm,
                cable.ohm_per_km_20c,
                self.conductor_c,
            ),
        )

    def _choose(self, loaded: LoadedWire, fuse: Fraction | None) -> Cable:
        fitting = [cable for cable in self.house if self._fits(loaded, cable)] or self.house
        least = max(loaded.amps, fuse or Fraction(0))
        return next((cable for cable in fitting if cable.rated_amps >= least), fitting[-1])

    def _fits(self, loaded: LoadedWire, cable: Cable) -> bool:
        wire = loaded.wire
        if cable.colours and str(wire.colour) not in cable.colours:
            return False
        styles = (self.styles[wire.label, "from end"], self.styles[wire.label, "to end"])
        return all(takes(self.catalogue.ends[style], cable.area_mm2) for style in styles)


def takes(style: EndStyle, area_mm2: Fraction) -> bool:
    """True when the style's terminals take this area; solder and bare ends take any."""
    return not style.max_mm2 or style.min_mm2 <= area_mm2 <= style.max_mm2
