"""Checks of keys along the clip: whether the matte holds on every picture that is keyed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from keyer.errors import NoBackingError
from keyer.kinds.limits import LIMITS as BOUNDS
from keyer.kinds.verdicts import Verdict
from keyer.measure.judge_backing import judge_backing
from keyer.measure.key_trials import TRIED
from keyer.measure.spill import judge_rim, judge_spill, measure_spill
from keyer.render.key_measures import judge_matte, keyed_from
from keyer.render.key_trials import try_settings
from keyer.render.key_views import straight_subject
from keyer.render.levels import Level, levels
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import subject
from keyer.report.checks.findings import SEVERITY, Finding, Limit, Look, Series
from keyer.report.checks.runs import Runs
from keyer.report.checks.view import LOOKS_A_SECOND, View
from keyer.sheet.sheet import Overlay, Sheet
from keyer.sheet.source import OtherSheet

LIMITS = {
    **{
        name: Limit(bounds.words, f"{bounds.source}; docs/measures.md")
        for name, bounds in BOUNDS.items()
        if name.startswith(("backing.", "coverage.", "spill.after", "spill.rim"))
    },
    "key.backing": Limit("a chroma key needs a backing of its hue", "ours"),
}
"""What each measure of a key is held against, in words."""


def looked_at(level: Level, first: int, last: int, *, whole: bool = False) -> frozenset[int]:
    """Choose frames of the spot for looks at what is on air from one frame of a level to another.

    Several a second, and the first and last; `whole`: where the level is fully there.
    """
    frames = level.frames(first, last, whole=whole)
    step = max(1, round(level.spot.format.rate / LOOKS_A_SECOND))
    begins = frames[0] if frames else 0
    return frozenset(one for one in frames if (one - begins) % step == 0 or one == frames[-1])


def without_backing(sheet: Sheet, plan: Plan) -> tuple[list[Finding], Sheet]:
    """Find chroma keys whose first picture shows no backing, and leave them out.

    Parameters
    ----------
    sheet : Sheet
    plan : Plan
        Of the sheet.

    Returns
    -------
    findings : list of Finding
        Each fails.
    sheet : Sheet
        Without those overlays, in its effects and the other sheets that it shows as well.
    """
    found: list[Finding] = []
    bad: set[tuple[tuple[str, ...], str, int]] = set()
    for level in levels(sheet):
        for overlay in level.sheet.overlays:
            if overlay.key is None or overlay.key.kind != "chroma":
                continue
            try:
                level.plan(plan).key_choice(overlay)
            except NoBackingError as error:
                bad.add((level.home, level.sheet.prefix, overlay.index))
                check = "key.backing"
                runs = Runs(sheet, check, "", LIMITS[check], subject=level.named(overlay))
                shown = level.frames(overlay.start, overlay.stop - 1)
                if shown:
                    runs.add(Look(shown[-1], "fails", 0.0, remedy=str(error), first=shown[0]))
                found += runs.findings()
    return found, _without(sheet, bad, ()) if bad else sheet


def _without(
    sheet: Sheet, bad: Collection[tuple[tuple[str, ...], str, int]], home: tuple[str, ...]
) -> Sheet:
    """Leave overlays out of a sheet, of its effects and of the other sheets that it shows."""

    def kept(overlays: Iterable[Overlay], prefix: str) -> tuple[Overlay, ...]:
        return tuple(one for one in overlays if (home, prefix, one.index) not in bad)

    effects = {
        name: replace(effect, overlays=kept(effect.overlays, f"effects.{name}."))
        for name, effect in sheet.effects.items()
    }
    sources = dict(sheet.sources)
    for name, source in sheet.sources.items():
        if isinstance(source.content, OtherSheet):
            other = _without(source.content.sheet, bad, (*home, name))
            sources[name] = replace(source, content=replace(source.content, sheet=other))
    return replace(sheet, overlays=kept(sheet.overlays, ""), effects=effects, sources=sources)


def judge_key(plan: Plan, overlay: Overlay, frame: int) -> list[Verdict]:
    """Judge an overlay's key by one picture, before the subject is placed.

    Parameters
    ----------
    plan : Plan
    overlay : Overlay
        With a key.
    frame : int
        Of the sheet.

    Returns
    -------
    list of Verdict
        Of coverage; with a chroma key of spill and the backing as well.
    """
    colour, matte = straight_subject(subject(plan.keyed(overlay, frame), plan.evaluator))
    key = overlay.key
    verdicts = judge_matte(matte, keyed_from(plan, overlay, frame))
    if key is not None and key.kind == "chroma":
        choice, matrix = plan.key_choice(overlay), plan.matrix(overlay)
        spill = measure_spill(colour, matte, choice.settings.hue_deg, matrix)
        verdicts += [judge_spill(spill), judge_rim(spill), *judge_backing(choice.backing)]
    return verdicts


class KeyCheck:
    """Coverage, spill and backing of one keyed overlay.

    Parameters
    ----------
    level : Level
        In which it stands.
    plan : Plan
        Of the spot.
    overlay : Overlay
        With a key.
    """

    def __init__(self, level: Level, plan: Plan, overlay: Overlay) -> None:
        self._level, self._plan, self._overlay = level, level.plan(plan), overlay
        self._name = level.named(overlay)
        self._looked_at = looked_at(level, overlay.start, overlay.stop - 1)
        self._runs: dict[str, Runs] = {}
        self._units: dict[str, str] = {}
        self._known = b""
        self._verdicts: Sequence[Verdict] = ()
        self._looks: dict[str, list[tuple[int, float]]] = {}
        self._gap = round(level.spot.format.rate)

    def look(self, view: View) -> None:
        """Take the next frame; measures several a second, and the first and last."""
        if view.index not in self._looked_at:
            return
        own = self._level.own(view.index)
        node = self._plan.keyed(self._overlay, own)
        if node.signature != self._known:
            self._verdicts = judge_key(self._plan, self._overlay, own)
            self._known = node.signature
        for verdict in self._verdicts:
            self._add(view.index, verdict)

    def _add(self, index: int, verdict: Verdict) -> None:
        name = verdict.measure
        if name not in self._runs:
            self._runs[name] = Runs(
                self._level.spot,
                name,
                verdict.unit,
                LIMITS[name],
                subject=self._name,
                gap=self._gap,
            )
            self._units[name], self._looks[name] = verdict.unit, []
        self._runs[name].add(Look(index, verdict.verdict, verdict.value, remedy=verdict.remedy))
        self._looks[name].append((index, verdict.value))

    def findings(self) -> list[Finding]:
        """Give the stretches in which the key does not hold, with the worst frame of each."""
        return [one for runs in self._runs.values() for one in self._proven(runs.findings())]

    def _proven(self, findings: list[Finding]) -> list[Finding]:
        """Add to the remedies of one check what helps on the worst frame of all its stretches."""
        bad = [one for one in findings if one.verdict != "holds" and one.check in TRIED]
        if not bad:
            return findings
        worst = max(bad, key=lambda one: (SEVERITY[one.verdict], one.value))
        verdict = Verdict(worst.check, worst.value, worst.unit, worst.verdict, worst.remedy)
        when = f"at {worst.worst_timecode}"
        own = self._level.own(worst.worst)
        (tried,) = try_settings(self._plan, self._overlay, own, [verdict], when)
        return [replace(one, remedy=tried.remedy) for one in bad]

    def series(self) -> list[Series]:
        """Give every measure of the matte over time."""
        return [
            Series(
                f"{self._name}: {name}",
                self._units[name],
                tuple(index for index, _ in looks),
                tuple(value for _, value in looks),
            )
            for name, looks in self._looks.items()
            if not name.startswith("backing")
        ]
