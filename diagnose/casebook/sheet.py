"""The numbers for the next pour: grams, degrees, minutes, vent, each one figure of a sum of the bench.

Made from the answers of a case (and the material it names), at the temperatures as they were unless a change of them
is advised. A number that can't be worked out names the answers it is missing. Lines are plain data; titles and words
are made from them when they are told, and never read back.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from diagnose.bench.calculation import Figure, Outcome, Value
from diagnose.bench.catalogue import by_name
from diagnose.bench.quantities import BenchError, number
from diagnose.casebook.case import Case
from diagnose.casebook.derive import derive, named_material, sum_values
from diagnose.casebook.sheet_line import BEARS_ON, TITLES, SheetLine
from diagnose.knowledge import Knowledge, Material
from diagnose.reasoning.answers import Answer

__all__ = ["BEARS_ON", "TITLES", "SheetLine", "next_pour_sheet", "sheet_of"]

#: the warmth at which a mold's clock runs, the first that is known
_MOLD_C = ("mold_temperature", "room_temperature", "sheet_temperature")


def next_pour_sheet(
    values: Mapping[str, Answer], build: str | None, knowledge: Knowledge, changes: Mapping[str, float] | None = None
) -> tuple[SheetLine, ...]:
    """Return the numbers for the next pour, in the order of the job.

    *values* are all answers by question, those of the material's sheet and the facts worked out among them. *changes*
    are what the next pour is advised to do otherwise, by fact (mold_temperature: 27): every number goes with them.
    """
    if not knowledge.practice:
        return ()  # a trade that tells no numbers that shops go by has none for the next pour
    made = _Sheet(values, build, knowledge, dict(changes or {}))
    return tuple(made.lines())


def sheet_of(case: Case, knowledge: Knowledge, changes: Mapping[str, float] | None = None) -> tuple[SheetLine, ...]:
    """Return the numbers for the next pour of *case*."""
    return next_pour_sheet(derive(case, knowledge).all_answers(case), case.build, knowledge, changes)


class _Sheet:
    """The inputs that all lines share."""

    def __init__(
        self, values: Mapping[str, Answer], build: str | None, knowledge: Knowledge, changes: dict[str, float]
    ) -> None:
        self.knowledge = knowledge
        self.practice = knowledge.practice
        self.build = build
        self.changes = changes
        self.known = {name: answer for name, answer in values.items() if answer.known}
        self.material = named_material(self.known, knowledge)
        raw = {
            name: answer
            for name, answer in self.known.items()
            if name not in knowledge.facts or not knowledge.facts[name].derived
        }
        self.values: dict[str, Value] = {**sum_values(raw, self.material), **changes, "build": build}

    def lines(self) -> list[SheetLine]:
        """Return the lines that make sense for this build and paint."""
        grams = self._grams()
        found = [*grams, *self._warmth(), *self._mixing(grams[0]), *self._finish(), *self._vents(), *self._hold()]
        if self.build != "bare_foam":
            found += [*self._skin(), *self._window()]
        found += self._demold()
        painted = self.known.get("painted")
        if painted is None or painted.value != "no":
            found += self._paint()
        return found

    # -- one line from one sum -------------------------------------------------------------------------------------

    def _given(self, sum_name: str, takes: tuple[str, ...], more: Mapping[str, Value]) -> dict[str, Value]:
        """Return what goes into a sum: what it requires, the further answers that it *takes*, and *more* in their
        place.
        """
        names = {item.name for item in by_name(sum_name).inputs if item.required} | set(takes)
        answers = {name: value for name, value in self.values.items() if name in names}
        return {name: value for name, value in {**answers, **more}.items() if value is not None}

    def _line(
        self,
        name: str,
        group: str,
        sum_name: str,
        takes: tuple[str, ...] = (),
        goes_by: str = "near",
        given: Mapping[str, Value] | None = None,
        figure_name: str = "",
    ) -> list[SheetLine]:
        """Return the line *name*: the figure of that name of a sum, or what is missing for it; *given* stands before
        answers.
        """
        more = given or {}
        missing = self._missing(sum_name, more)
        if missing:
            return [SheetLine(name, group, None, "1", missing=missing)]
        inputs = self._given(sum_name, takes, more)
        try:
            outcome = by_name(sum_name).run(inputs, self.practice)
        except BenchError as error:
            return [SheetLine(name, group, None, "1", sum=str(error))]
        figure = outcome.figures.get(figure_name or name)
        if figure is None:
            return []
        line = self._of(name, group, outcome, figure, goes_by)
        return [replace(line, calculation=sum_name, inputs=tuple(inputs.items()))]

    def _of(self, name: str, group: str, outcome: Outcome, figure: Figure, goes_by: str = "near") -> SheetLine:
        end = {"near": figure.value, "up": figure.high, "down": figure.low}[goes_by]
        return SheetLine(
            id=name,
            group=group,
            value=figure.value if end is None else end,
            unit=figure.unit,
            low=figure.low,
            high=figure.high,
            used=tuple(given for given in outcome.used if given in self.known or given in self.changes),
            sum=figure.text or outcome.text,
            assumes=". ".join(part.rstrip(".") for part in outcome.assumes),
            goes_by=goes_by,
        )

    def _missing(self, sum_name: str, more: Mapping[str, Value]) -> tuple[str, ...]:
        inputs = by_name(sum_name).inputs
        have = {**self.values, **more}
        return tuple(item.name for item in inputs if item.required and have.get(item.name) is None)

    def _span(self, name: str, group: str, practice: str, fact: str = "") -> SheetLine:
        """Return a line that is a practice number, or the change of *fact* that is advised."""
        span = self.practice[practice].of(self.build)
        if fact in self.changes:
            wanted = self.changes[fact]
            return SheetLine(name, group, wanted, self.practice[practice].unit, wanted, wanted, used=(fact,))
        entry = self.practice[practice]
        return SheetLine(
            name, group, span.mid, entry.unit, span.low, span.high, assumes=f"{entry.about} ({entry.source})"
        )

    # -- grams -----------------------------------------------------------------------------------------------------

    def _grams(self) -> list[SheetLine]:
        if self.build is None:
            return [SheetLine("mix_mass", "grams", None, "g", missing=("build", *self._missing("charge", {})))]
        whole = self._line("mix_mass", "grams", "charge", ("build",))
        pours = self._pours(whole[0])
        if whole[0].value is None:
            return [*whole, *pours]
        return [*whole, *pours, *self._parts((pours or whole)[0]), *self._by_volume()]

    def _pours(self, whole: SheetLine) -> list[SheetLine]:
        """The most that is poured at once, where that is advised
        and the mold takes more or nobody knows what it takes.
        """
        most = self.changes.get("charge_mass")
        if most is None or (whole.value is not None and whole.value <= most):
            return []
        told = "a core in the thick place takes its room off the whole"
        return [SheetLine("one_pour", "grams", most, "g", used=("charge_mass",), assumes=told)]

    def _parts(self, whole: SheetLine) -> list[SheetLine]:
        found = []
        for name in ("b_mass", "a_mass"):
            (line,) = self._line(name, "grams", "split", given={"batch": whole.value})
            if line.value is not None and whole.value:
                share = line.value / whole.value  # a split is a share of the whole, at its ends as in the middle
                ends = [None if end is None else end * share for end in (whole.low, whole.high)]
                used = tuple(dict.fromkeys((*whole.used, *line.used)))
                line = replace(line, low=ends[0], high=ends[1], used=used, weighed=True)
            found.append(line)
        return [*found, *self._pigment(found[0])]

    def _pigment(self, b_side: SheetLine) -> list[SheetLine]:
        percent = self.values.get("pigment_percent")
        if not isinstance(percent, float) or not percent or b_side.value is None:
            return []
        most = self.practice["pigment_percent"].high
        grams = b_side.value * percent / 100
        over = (
            f"over the {number(most)} % that foams usually take"
            if percent > most
            else f"{number(most)} % is the usual most"
        )
        how = f"{number(b_side.value, 4)} g of B x {number(percent, 4)} %"
        used = (*b_side.used, "pigment_percent")
        assumes = f"{over}; the paste's sheet decides"
        return [SheetLine("pigment", "grams", grams, "g", used=used, sum=how, assumes=assumes, weighed=True)]

    def _by_volume(self) -> list[SheetLine]:
        """The ratio as cups measure it, where somebody measured by volume and the sheet gives both densities."""
        method = self.known.get("ratio_method")
        if method is None or method.value == "by_weight" or self.material is None:
            return []
        sheet = self.material.values
        if not {"density_a", "density_b"} <= set(sheet) or self.values.get("ratio_target") is None:
            return []
        densities: dict[str, Value] = {name: sheet[name] for name in ("density_a", "density_b")}
        return self._line("volume_ratio", "grams", "ratio-by-volume", given=densities)

    # -- warmth and time -------------------------------------------------------------------------------------------

    def _warmth(self) -> list[SheetLine]:
        found = [
            self._span("liquids", "warmth", "liquids", "material_temperature"),
            self._span("mold_face", "warmth", "mold_face", "mold_temperature"),
        ]
        told = {name: self.known[name].value for name in ("mold_temperature", "room_temperature") if name in self.known}
        start = next((value for value in told.values() if isinstance(value, float)), None)
        if start is None:
            return [*found, SheetLine("warm", "warmth", None, "min", missing=("mold_temperature",))]
        wanted = found[1].value if found[1].value is not None else start
        if start >= (found[1].low or wanted):
            return found
        warm = self._line("warm", "warmth", "warm-mold", given={"mold_temperature": start, "target": wanted})
        return [*found, *(replace(line, used=tuple(told)[:1]) for line in warm)]

    def _mixing(self, whole: SheetLine) -> list[SheetLine]:
        """What to mix with, by the batch, and whether there is time for a second cup, by the cream time."""
        found = []
        if whole.value is not None:
            most = self.practice["stick_batch"]
            tool = "stick" if whole.value <= most.mid else "paddle"
            told = f"{most.about}: {number(most.mid)} g"
            found.append(SheetLine("mixer", "finish", None, "1", text_value=tool, used=whole.used, assumes=told))
        cream = self.values.get("cream_time")
        if isinstance(cream, float):
            least = self.practice["two_cups_cream"]
            cups = "two_cups_scraped" if cream >= least.mid else "one_cup"
            told = f"{least.about}: {number(least.mid)} s"
            found.append(SheetLine("cups", "finish", None, "1", text_value=cups, used=("cream_time",), assumes=told))
        return found

    def _finish(self) -> list[SheetLine]:
        """The last drop and the end of rise, at the warmth that the liquids should have, or had if that was more."""
        here, should = self.values.get("material_temperature"), self.practice["liquids"].mid
        warm = here if "material_temperature" in self.changes else should
        if isinstance(here, float):
            warm = here if "material_temperature" in self.changes else max(here, should)
        found = self._line(
            "finish_pouring", "finish", "pour-time", ("sheet_temperature",), "down", {"material_temperature": warm}
        )
        rise = None if self.material is None or self.material.kind != "foam" else self.material.values.get("rise_time")
        if rise is None:
            return found
        given = {"material_temperature": warm, "rise_time": rise}
        still = self._line("still_until", "finish", "clock", ("sheet_temperature",), "up", given, "rise_time")
        return [*found, *(replace(line, used=(*line.used, "material")) for line in still)]

    def _demold(self) -> list[SheetLine]:
        """Never shorter than a time that was too short already, whatever else is changed."""
        if self.values.get("sheet_demold_time") is None:
            return [SheetLine("demold", "demold", None, "min", missing=("sheet_demold_time",))]
        (line,) = self._line("demold", "demold", "demold", ("sheet_demold_time", "section_thickness", *_MOLD_C), "up")
        was, share = self.known.get("demold_time"), self.known.get("demold_fraction")
        if line.value is None or was is None or share is None:
            return [line]
        if not isinstance(was.value, float) or not isinstance(share.value, float):
            return [line]
        if share.value >= 1 or line.value >= was.value:
            return [line]
        floor = f"not under the {number(was.value, 4)} min that were too early"
        used = (*line.used, "demold_time")
        return [replace(line, value=was.value, high=was.value, used=used, assumes=f"{floor}. {line.assumes}")]

    def _paint(self) -> list[SheetLine]:
        """Paint after what the foam's sheet says, or after a day."""
        room = self.values.get("room_temperature")
        rests = max(room, 10.0) if isinstance(room, float) else self.values.get("sheet_temperature")
        if not isinstance(rests, float):
            rests = self.practice["sheet_temperature"].mid
        own = None if self.material is None or self.material.kind != "foam" else self.material.values.get("paint_after")
        wait = None if own is None else own / 3600
        given: dict[str, Value] = {"part_temperature": rests, "paint_wait": wait}
        found = self._line("paint", "paint", "paint-wait", ("sheet_temperature",), "up", given)
        used = tuple(name for name in ("material", "room_temperature") if name in self.known)
        return [replace(line, used=used) for line in found]

    # -- air, hold and skin ----------------------------------------------------------------------------------------

    def _vents(self) -> list[SheetLine]:
        return [self._span("vents", "vents", "vent_bore")]

    def _hold(self) -> list[SheetLine]:
        if self.build is None:
            return []
        takes = ("free_rise_density", "opening_diameter", "build")
        pressure = self._line("mold_pressure", "hold", "mold-pressure", takes, "up")
        return [*pressure, *self._line("load", "hold", "mold-pressure", takes, "up")]

    def _skin(self) -> list[SheetLine]:
        takes = ("skin_density",)
        found = self._line("skin_mix", "skin", "skin-grams", takes)
        return found if found[0].value is None else [*found, *self._line("coats", "skin", "skin-grams", takes)]

    def _window(self) -> list[SheetLine]:
        own = self._coat_window(self.material)
        if not own and self.values.get("sheet_skin_gel") is None:
            return [SheetLine("window", "window", None, "min", missing=("sheet_skin_gel",))]
        return [
            replace(line, used=(*line.used, "material")) if own else line
            for line in self._line("window", "window", "window", ("sheet_skin_gel", *_MOLD_C), given=own)
        ]

    def _coat_window(self, coat: Material | None) -> dict[str, Value]:
        """When the coat's own sheet says that foam may go on, in min."""
        if coat is None or coat.kind != "skin" or not {"window_opens", "window_closes"} <= set(coat.values):
            return {}
        return {"opens": coat.values["window_opens"] / 60, "closes": coat.values["window_closes"] / 60}
