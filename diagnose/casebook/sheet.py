"""The numbers for the next pour: grams, degrees, minutes, vent, each with its sum, its range and what it assumes.

Made from the answers of a case (and the material it names): what the shop told of the mold and the system, at the temperatures
that the pour should have. A number that can't be worked out says what it needs and how to get it, with a worked example.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from diagnose.bench import cure_times, heat, mix, packing, painting, skin, venting
from diagnose.bench.calculation import celsius, say, say_range, say_time, say_times
from diagnose.bench.quantities import BenchError, Range, number
from diagnose.casebook.case import Case
from diagnose.casebook.derive import derive
from diagnose.knowledge import Knowledge, Material

#: packing to aim at (common practice, no source): bare foam makes its own skin by pressing, behind a skin coat little is wanted
PACKING = {"bare_foam": Range(1.3, 1.45, 1.6), "skin_and_foam": Range(1.05, 1.15, 1.25)}
#: what stays in a scraped bucket, as a share (common practice, no source)
LOSS = 0.06
#: where the pour should be: liquids and mold face in °C, warm box in °C, wall of the silicone in m (common practice, no source)
LIQUIDS, FACE, BOX, WALL = Range(22, 24, 25), Range(25, 27, 30), 35.0, 0.012
#: skin coat in m (common practice, no source), and foam on it between these multiples of its gel time (ours, between two habits of the trade)
COAT, PER_COAT, WINDOW = Range(0.0008, 0.0012, 0.0015), 0.0006, (2.5, 8.0)
#: a cavity fills in about this long, in s, and a vent of this bore and length in m at this pressure in Pa is taken for the count
FILL_TIME, BORE, VENT_LENGTH, VENT_PRESSURE = 60.0, 0.0015, 0.01, 500.0


@dataclass(frozen=True, slots=True)
class Line:
    """One number of the sheet. *value* is None where it can't be worked out; then *text* says what is needed and *sum* shows an example."""

    name: str
    title: str
    text: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    sum: str
    assumes: str


class Sheet:
    """The next-pour sheet of one case."""

    def __init__(self, case: Case, knowledge: Knowledge) -> None:
        self.case = case
        self.knowledge = knowledge
        answers = derive(case, knowledge).all_answers(case)
        self.known = {name: answer.value for name, answer in answers.items() if answer.known}
        self.build = case.build or "bare_foam"
        material = knowledge.materials.get(str(self.known.get("material")))
        self.foam: Material | None = material if material is not None and material.kind == "foam" else None
        self.coat: Material | None = material if material is not None and material.kind == "skin" else None

    def lines(self) -> list[Line]:
        """Return the sheet in the order of the job."""
        steps: list[Callable[[], list[Line]]] = [self._grams, self._warmth, self._finish, self._vents]
        if self.build == "skin_and_foam":
            steps += [self._skin, self._window]
        steps += [self._demold]
        if self.case.painted is not False:
            steps += [self._paint]
        found: list[Line] = []
        for step in steps:
            try:
                found.extend(step())
            except BenchError as error:
                found.append(
                    Line(step.__name__.strip("_"), "Not worked out", str(error), None, "1", None, None, "", "")
                )
        return found

    def _value(self, name: str) -> float | None:
        value = self.known.get(name)
        return value if isinstance(value, float) else None

    def _or(self, name: str, otherwise: float) -> float:
        value = self._value(name)
        return otherwise if value is None else value

    def _needs(self, name: str, title: str, missing: list[str], example: str) -> Line:
        wanted = ", ".join(self.knowledge.label(fact).replace("_", " ") for fact in missing)
        return Line(name, title, f"needs: {wanted}", None, "1", None, None, example, "")

    def _missing(self, *names: str) -> list[str]:
        return [name for name in names if self._value(name) is None]

    # -- grams -----------------------------------------------------------------------------------------------------

    def _grams(self) -> list[Line]:
        missing = self._missing("cavity_volume", "free_rise_density", "ratio_target")
        if missing:
            return [
                self._needs(
                    "grams",
                    "Grams of A and B",
                    missing,
                    "example: 1900 mL x 0.16 g/mL x 1.45 / (1 - 0.06) = 469 g, at 50 to 100 is 156 g A and 313 g B",
                )
            ]
        volume, density, target = (
            self._or(name, 0.0) for name in ("cavity_volume", "free_rise_density", "ratio_target")
        )
        window = PACKING[self.build]
        low, mid, high = (
            packing.charge(volume / 1e6, density, factor, LOSS) for factor in (window.low, window.mid, window.high)
        )
        parts = mix.split(mid.mix_kg, target)
        ends = [mix.split(end.mix_kg, target) for end in (low, high)]
        sums = f"{number(volume, 4)} mL x {number(density / 1000, 4)} g/mL x {window.mid:g} / (1 - {LOSS:g}) = {mid.mix_kg * 1000:.0f} g"
        assumed = f"packing {window.low:g} to {window.high:g}, {100 * LOSS:g} % left in a scraped bucket; the cavity is the space left for the foam"
        lines = [
            Line(
                "mix",
                "Mix in all",
                f"{mid.mix_kg * 1000:.0f} g",
                mid.mix_kg * 1000,
                "g",
                low.mix_kg * 1000,
                high.mix_kg * 1000,
                sums,
                assumed,
            ),
            Line(
                "b_grams",
                "B side, weighed first",
                f"{parts.b_kg * 1000:.0f} g",
                parts.b_kg * 1000,
                "g",
                ends[0].b_kg * 1000,
                ends[1].b_kg * 1000,
                f"{mid.mix_kg * 1000:.0f} g x 100 / (100 + {number(target, 4)})",
                "by weight, in the cup it is mixed in",
            ),
            Line(
                "a_grams",
                "A side, worked from what the scale shows for B",
                f"{parts.a_kg * 1000:.0f} g ({number(target / 100, 4)} x grams of B)",
                parts.a_kg * 1000,
                "g",
                ends[0].a_kg * 1000,
                ends[1].a_kg * 1000,
                f"{parts.b_kg * 1000:.0f} g x {number(target, 4)} / 100",
                f"target ratio {number(target, 4)} parts A to 100 B by weight",
            ),
        ]
        return [*lines, *self._pigment(parts.b_kg)]

    def _pigment(self, b_kg: float) -> list[Line]:
        percent = self._value("pigment_percent")
        if not percent:
            return []
        grams = b_kg * 1000 * percent / 100
        warn = (
            "over the 2 % that foams usually take"
            if percent > 2
            else "2 % of B is what foams usually take at most; the paste's sheet decides"
        )
        return [
            Line(
                "pigment",
                "Pigment, stirred into B first",
                f"{grams:.1f} g",
                grams,
                "g",
                None,
                None,
                f"{b_kg * 1000:.0f} g x {number(percent, 4)} %",
                warn,
            )
        ]

    # -- warmth and time -------------------------------------------------------------------------------------------

    def _warmth(self) -> list[Line]:
        liquids = Line(
            "liquids",
            "Both liquids, measured in the can",
            f"{say_range(LIQUIDS, '1')} °C",
            LIQUIDS.mid,
            "degC",
            LIQUIDS.low,
            LIQUIDS.high,
            "",
            "the sheet's times are usually given near here",
        )
        face = Line(
            "mold_face",
            "Mold, measured on the inside face",
            f"{say_range(FACE, '1')} °C",
            FACE.mid,
            "degC",
            FACE.low,
            FACE.high,
            "",
            "some foams want a cooler face: the supplier's sheet comes first",
        )
        start = self._value("mold_temperature")
        start = self._value("room_temperature") if start is None else start
        if start is None:
            return [
                liquids,
                face,
                self._needs("warm", "Time to warm the mold", ["mold_temperature"], self._warm_example()),
            ]
        if start >= FACE.low:
            return [liquids, face]
        span = heat.warm_mold(WALL, start, BOX, FACE.mid)
        minutes = span.times(1 / 60)
        return [
            liquids,
            face,
            Line(
                "warm",
                "Time to warm the mold",
                f"{say_times(span)} in a {BOX:g} °C box",
                minutes.mid,
                "min",
                minutes.low,
                minutes.high,
                f"{say(WALL, 'mm')} of silicone from {celsius(start)} to {celsius(FACE.mid)}, warmed from one side in still air",
                "published values for silicone differ threefold; a shell makes it slower, a fan nearly halves it; measure the face",
            ),
        ]

    def _warm_example(self) -> str:
        return f"example: {say(WALL, 'mm')} of silicone from 18 °C to 27 °C in a {BOX:g} °C box takes {say_times(heat.warm_mold(WALL, 18.0, BOX, FACE.mid))}"

    def _finish(self) -> list[Line]:
        cream = self._value("cream_time")
        if cream is None:
            return [
                self._needs(
                    "finish_pouring",
                    "Last drop in by",
                    ["cream_time"],
                    "example: cream 45 s at 25 °C: be done by 30 s; at 20 °C by 36 s",
                )
            ]
        sheet = self._or("sheet_temperature", 25.0)
        here = self._value("material_temperature")
        warm = max(LIQUIDS.low, here) if here is not None and here > LIQUIDS.high else LIQUIDS.mid
        span = cure_times.finish_pouring(cream, warm, sheet)
        return [
            Line(
                "finish_pouring",
                "Last drop in by",
                f"{say_time(span.low)} after A meets B",
                span.low,
                "s",
                span.low,
                span.high,
                f"two thirds of {number(cream, 4)} s cream at {number(sheet, 4)} °C, liquids at {number(warm, 4)} °C",
                "a big batch runs faster than the small cup",
            )
        ]

    def _demold(self) -> list[Line]:
        minutes = self._value("sheet_demold_time")
        if minutes is None:
            return [
                self._needs(
                    "demold",
                    "Open the mold at",
                    ["sheet_demold_time"],
                    "example: 45 min at 25 °C is 59 to 77 min in a room of 18 °C",
                )
            ]
        sheet = self._or("sheet_temperature", 25.0)
        room = self._value("room_temperature")
        here = room if room is not None else sheet
        span = cure_times.time_at(minutes * 60, here, sheet).times(1 / 60)
        return [
            Line(
                "demold",
                "Open the mold not before",
                f"{say_time(60 * span.high)} from mixing",
                span.high,
                "min",
                span.low,
                span.high,
                f"{number(minutes, 4)} min at {number(sheet, 4)} °C, carried to {number(here, 4)} °C",
                "5 min more for each 25 mm of section over 50 mm; a pressed thumb must spring back",
            )
        ]

    def _paint(self) -> list[Line]:
        room = max(self._or("room_temperature", 22.5), 10.0)  # colder than that a part rests somewhere else
        span = painting.paint_wait(room).times(1 / 3600)
        return [
            Line(
                "paint",
                "Paint not before",
                f"{say_time(3600 * span.high)} after demold",
                span.high,
                "h",
                span.low,
                span.high,
                f"a day at 22 °C, carried to {number(room, 4)} °C",
                "washed, rinsed and dry through; face 3 °C over the dew point; the paint's own sheet comes first",
            )
        ]

    # -- air and skin ----------------------------------------------------------------------------------------------

    def _vents(self) -> list[Line]:
        volume = self._value("cavity_volume")
        if volume is None:
            return [
                Line(
                    "vents",
                    "Vents",
                    "one of 1 to 2 mm at each dead end",
                    BORE * 1000,
                    "mm",
                    1.0,
                    2.0,
                    "",
                    "place matters, not size",
                )
            ]
        need = venting.air_to_vent(volume / 1e6, FILL_TIME)
        one = venting.vent_flow(VENT_PRESSURE, BORE, VENT_LENGTH)
        count = max(1, -(-need // one.flow_m3_s))
        return [
            Line(
                "vents",
                "Vents",
                f"one of 1 to 2 mm at each dead end, {count:.0f} at the least",
                count,
                "1",
                None,
                None,
                f"{say(need, 'mL/s')} of air must leave, one vent of {say(BORE, 'mm')} passes {say(one.flow_m3_s, 'mL/s')}",
                f"the cavity fills in {FILL_TIME:g} s; place matters more than size, a trapped pocket can't be pressed away",
            )
        ]

    def _skin(self) -> list[Line]:
        area = self._value("mold_area")
        if area is None:
            return [
                self._needs(
                    "skin",
                    "Skin coat",
                    ["mold_area"],
                    "example: 1450 cm² x 1.2 mm x 1.05 g/mL x 1.15 = 210 g in two coats",
                )
            ]
        low, mid, high = (
            skin.coats(area / 1e4, thickness, PER_COAT, loss=0.13) for thickness in (COAT.low, COAT.mid, COAT.high)
        )
        return [
            Line(
                "skin",
                "Skin coat to mix",
                f"{mid.all_kg * 1000:.0f} g in {mid.count} coats",
                mid.all_kg * 1000,
                "g",
                low.all_kg * 1000,
                high.all_kg * 1000,
                f"{number(area, 4)} cm² x {COAT.mid * 1000:g} mm x 1.05 g/mL, 13 % left in the cup",
                "thin coats; dab the ridges again at gel, tip the pools out",
            )
        ]

    def _window(self) -> list[Line]:
        sheet = self._or("sheet_temperature", 25.0)
        room = self._or("room_temperature", sheet)
        found = self._window_on_sheet(sheet)
        if found is None:
            return [
                self._needs(
                    "window",
                    "Foam onto the skin between",
                    ["sheet_skin_gel"],
                    "example: a coat that gels in 12 min takes foam from 30 min to about 100 min at 25 °C; the finger decides",
                )
            ]
        opens, closes, says = found
        window = cure_times.window_at(opens, closes, room, sheet)
        return [
            Line(
                "window",
                "Foam onto the skin between",
                f"{say_time(window.opens.mid)} and {say_time(window.closes.low)}",
                window.opens.mid / 60,
                "min",
                window.opens.mid / 60,
                window.closes.low / 60,
                f"{says} at {number(sheet, 4)} °C, carried to {number(room, 4)} °C",
                "a finger that leaves a print and lifts nothing beats the clock",
            )
        ]

    def _window_on_sheet(self, sheet: float) -> tuple[float, float, str] | None:
        """When the window opens and closes at *sheet* °C, in s, and where that is from: the coat's own sheet before its gel time."""
        if self.coat is not None and {"window_opens", "window_closes"} <= set(self.coat.values):
            opens, closes = self.coat.values["window_opens"], self.coat.values["window_closes"]
            return opens, closes, f"the coat's sheet: {number(opens / 60, 4)} to {number(closes / 60, 4)} min"
        gel = self._value("sheet_skin_gel")
        if gel is None:
            return None
        opens, closes = (gel * factor * 60 for factor in WINDOW)
        return opens, closes, f"{WINDOW[0]:g} to {WINDOW[1]:g} times the gel time of {number(gel, 4)} min"
