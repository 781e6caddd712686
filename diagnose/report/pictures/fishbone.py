"""The cause-and-effect diagram of a case: a spine to what is seen, a bone for each stage of the work,
a small bone for each cause.

Each bone is as thick as the chance that it had a part: a small bone for its cause, a main bone for any cause of its
stage, taken together exactly. What is mixed and poured stands above the spine, mold, coats and shop below, each in the
order of the work; stages that this kind of part has not are only named. Room along the spine goes to the bone with the
most to write. Causes that no longer matter are fine twigs.
"""

from __future__ import annotations

from msgspec import Struct

from diagnose.assessment.consultation import Consultation
from diagnose.assessment.verdict import SHOWN
from diagnose.knowledge.model import STAGES
from diagnose.prose.chance import figure
from diagnose.prose.text import counted, listed, shortened
from diagnose.prose.text import lowered as in_sentence
from diagnose.report.pictures.svg import Alternative

NAME = "fishbone"
#: most causes labelled on one bone
MOST = 6


class Twig(Struct, frozen=True):
    """A cause that is labelled, with its chance of having had a part."""

    id: str
    title: str
    chance: float


class Bone(Struct, frozen=True):
    """A stage: the chance that any of its causes had a part, the causes labelled, likeliest first,
    and how many are not.
    """

    stage: str
    chance: float
    twigs: tuple[Twig, ...]
    rest: int

    @property
    def title(self) -> str:
        """The stage as a heading."""
        return self.stage.replace("_", " ").capitalize()

    @property
    def applies(self) -> bool:
        """Whether the stage belongs to this kind of part."""
        return bool(self.twigs or self.rest)


class Fishbone(Struct, frozen=True):
    """All that the picture shows."""

    title: str
    symptoms: tuple[str, ...]
    bones: tuple[Bone, ...]
    unexplained: float


def fishbone_of(consultation: Consultation) -> Fishbone:
    """Return what the cause-and-effect diagram of a case shows. Raises TooManySeen and NoWayToBe as the beliefs do."""
    knowledge = consultation.knowledge
    by_stage: dict[str, list[Twig]] = {stage: [] for stage in STAGES}
    for belief in consultation.situation.beliefs.causes:
        cause = knowledge.causes[belief.id]
        by_stage[cause.stage].append(Twig(belief.id, shortened(cause.title, 80), belief.probability))
    bones = tuple(_bone(consultation, stage, twigs) for stage, twigs in by_stage.items())
    seen = tuple(shortened(knowledge.symptoms[name].title, 80) for name in consultation.symptoms_seen)
    return Fishbone(
        shortened(consultation.case.title, 90) or "A case without a title",
        seen,
        bones,
        consultation.situation.beliefs.unexplained,
    )


def _bone(consultation: Consultation, stage: str, twigs: list[Twig]) -> Bone:
    shown = tuple(twig for twig in twigs if twig.chance >= SHOWN)[:MOST]
    acting = [twig for twig in twigs if twig.chance > 0.0]
    chance = (
        consultation.situation.responsible_any([twig.id for twig in acting])
        if len(acting) > 1
        else sum(twig.chance for twig in acting)
    )
    return Bone(stage, chance, shown, len(twigs) - len(shown))


# -- in words ------------------------------------------------------------------------------------------------------


def fishbone_words(fish: Fishbone) -> Alternative:
    """Return the picture in words."""
    seen = listed([in_sentence(symptom) for symptom in fish.symptoms])
    parts = [f"Cause-and-effect diagram, drawn as a fishbone. At the head stands what is seen: {seen}."]
    shown = sorted((bone for bone in fish.bones if bone.twigs), key=lambda bone: -round(bone.chance, 10))
    parts += [_bone_in_words(bone) for bone in shown]
    thin = [bone.title.lower() for bone in fish.bones if bone.applies and not bone.twigs]
    if thin:
        parts.append(f"Thin bones, no cause at 5 % or more: {listed(thin)}.")
    away = [bone.title.lower() for bone in fish.bones if not bone.applies]
    if away:
        parts.append(f"Not on this kind of part: {listed(away)}.")
    parts.append(f"Something that is not on the list had a part: {figure(fish.unexplained)}.")
    return Alternative(f"What may have had a part: {fish.title}", " ".join(parts))


def _bone_in_words(bone: Bone) -> str:
    causes = "; ".join(f"{in_sentence(twig.title)}, {figure(twig.chance)}" for twig in bone.twigs)
    rest = f"; {counted(bone.rest, 'smaller cause')} not named" if bone.rest else ""
    return f"Bone {bone.title.lower()}, {figure(bone.chance)}: {causes}{rest}."
