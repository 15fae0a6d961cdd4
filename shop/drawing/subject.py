"""What is drawn: the document, what is said of it, and how the caller wants it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from fuelsys.document.model import Component, Document, Segment
from shop.drawing import facts, words
from shop.drawing.judge import Judgment
from shop.drawing.labels import Span
from shop.drawing.runs import Run
from shop.drawing.sizes import Size
from shop.drawing.symbols import HELD
from shop.drawing.words import Strings

Href = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class Subject:
    """Everything the pieces of a drawing ask for."""

    document: Document
    size: Size
    state: str
    judgment: Judgment
    components: Mapping[str, Component]
    strings: Strings
    chosen: str | None = None
    href: Href | None = None
    kept: frozenset[str] = frozenset()
    found: Document | None = None

    def say(self, phrase: str, **values: str) -> str:
        return self.strings(phrase).format(**values)

    @property
    def on_desk(self) -> bool:
        return self.size.name == "desk"

    @property
    def on_phone(self) -> bool:
        return self.size.name == "phone"

    def color(self, segment: str) -> str:
        return "soft" if segment in self.kept else "ink"

    def read_out(self, segment: Segment) -> str:
        """How a segment is named to a reader: "S3, feed, fails law"."""
        pieces = [segment.id, self.say(words.SERVICES[segment.service])]
        verdict = self.judgment.verdicts.get(segment.id)
        if verdict is not None:
            pieces.append(self.say(verdict.read_out))
        if segment.id in self.kept:
            pieces.append(self.say(words.KEPT))
        return ", ".join(pieces)

    def facts_line(self, segment: Segment) -> str:
        """Class, bore and length of a segment: "A1, 3/8 in, 30 in"."""
        bore, length = segment.inside_diameter_m, facts.inches(segment.length_m)
        made_of = self._made_of(segment)
        if made_of is not None and bore is not None and length is not None:
            return self.say(
                words.TYPE,
                kind=made_of,
                bore=facts.bore_text(bore),
                length=facts.figure(length),
            )
        inch = self.say(words.INCHES)
        pieces = [made_of or self.say(words.CLASS_UNKNOWN)]
        pieces.append(
            self.say(words.BORE_MISSING) if bore is None else f"{facts.bore_text(bore)} {inch}"
        )
        if made_of is None and bore is None:
            pieces = [self.say(words.HOSE_MISSING)]
        pieces.append(
            self.say(words.LENGTH_MISSING) if length is None else f"{facts.figure(length)} {inch}"
        )
        return ", ".join(pieces)

    def _made_of(self, segment: Segment) -> str | None:
        if segment.metal_line is not None:
            material = segment.metal_line.material or "other"
            return self.say(words.MATERIALS.get(material, words.MATERIALS["other"]))
        kind = facts.kind_of_hose(segment.hose)
        if kind is None:
            return None
        return self.say(words.NO_CLASS) if kind.lower() == "none" else kind

    def tag(self, part: str, height: float | None) -> str:
        return part if height is None else f"{part} {facts.height_text(height)}"

    def valve_words(self, part: Component, run: Run) -> Span | None:
        """What is to be said of the anti-siphon valve at a withdrawal or in a line."""
        if part.kind == "anti_siphon_valve" or part.anti_siphon == "spring_valve":
            opening = facts.opening_text(part)
            if opening is None:
                return Span(self.say(words.VALVE_UNKNOWN), "mark") if self.on_desk else None
            phrase, key = (
                (words.VALVE_HOLDS, "head")
                if opening[0] == "in"
                else (words.VALVE_OPENS, "pressure")
            )
            return Span(self.say(phrase, **{key: facts.figure(float(opening[1]))}))
        if part.kind != "withdrawal" or part.anti_siphon in HELD or self._held_later(run):
            return None
        return self._no_valve(part)

    def _held_later(self, run: Run) -> bool:
        """Whether a valve of its own stands further along the line."""
        ahead = (self.components.get(step.far) for step in run.steps)
        return any(
            part and part.kind in ("anti_siphon_valve", "electric_stop_valve") for part in ahead
        )

    def _no_valve(self, part: Component) -> Span | None:
        """Missing valves are overprinted on gasoline; diesel has no such demand."""
        tank = next((tank for tank in self.document.tanks if tank.id == part.tank), None)
        if tank is not None and tank.fuel == "diesel":
            return None
        if part.anti_siphon is None:
            return Span(self.say(words.VALVE_NOT_RECORDED), "mark") if self.on_desk else None
        phrase = words.NO_VALVE if self.on_desk else words.NO_VALVE_SHORT
        return Span(self.say(phrase), "mark", "strong")

    def volume(self, ounces: float, phrase: str = words.VOLUME) -> Span:
        text = self.say(phrase, volume=facts.volume_text(ounces))
        return Span(text, "mark", "sloping")
