"""Finds sentences that tell somebody to defeat a protective earth.

29 CFR 1910.334(a)(3) and WAC 296-24-985: plugs and cords may not be altered so that the equipment grounding conductor
is broken, and adapters that interrupt it may not be used. Strict on purpose: the only "lift" that passes is the audio
ground lift of a DI, and the only mention of defeating the earth that passes is a prohibition.
"""

from __future__ import annotations

import re

_AUDIO = re.compile(r"\b(?:audio|signal)[ -](?:ground|earth)(?:[ -]lift(?:s|ing)?)?", re.I)
_LOOP = re.compile(r"\b(?:ground|earth)(?:ing)?[ -](?:loops?|hum|faults?|leakage)\b", re.I)
_ENDS = re.compile(r"[.!?;:\n]+|,? (?:but|then|otherwise) ", re.I)

_PART = r"(?:pin|prong|wire|core|conductor|contact|connection|lead|strap|lug|screw|terminal|blade|clip|tab)s?"
_KIND = r"(?:protective|safety|mains|supply|equipment|chassis|power)"
_CONDUCTOR = rf"""(?:
    (?:{_KIND}[ -])?(?:earth|ground)(?:ing)?[ -]{_PART}
  | {_KIND}[ -](?:earth|ground)(?:ing)?\b
  | earth\b(?!-)
  | third[ ](?:pin|prong|wire)
  | green(?:[ ]and|-and)?[ /-](?:yellow[ ])?{_PART}
)"""
_STRONG = r"""(?:
    lift(?:s|ing)?|cut(?:s|ting)?|snip(?:s|ping)?|clip(?:s|ping)?|tap(?:e|es|ing)|remov(?:e|es|ing)
  | defeat(?:s|ing)?|break(?:s|ing)?|bypass(?:es|ing)?|disconnect(?:s|ing)?|detach(?:es|ing)?
  | bend(?:s|ing)?|unscrew(?:s|ing)?|undo(?:es|ing)?|loosen(?:s|ing)?|float(?:s|ing)?|interrupt(?:s|ing)?
  | insulat(?:e|es|ing)|isolat(?:e|es|ing)|fil(?:e|es|ing)[ ](?:off|down)|saw(?:s|ing)?|unplug(?:s|ging)?
)"""
_WEAK = r"""(?:
    pull(?:s|ing)?|cover(?:s|ing)?|drop(?:s|ping)?|tak(?:e|es|ing)|knock(?:s|ing)?|los(?:e|ing)
  | leav(?:e|es|ing)[ ](?:off|out|open)|get(?:s|ting)?[ ]rid|do(?:es|ing)?[ ]without|go(?:es|ing)?[ ]without
)"""
_ACT = rf"(?:{_STRONG}|{_WEAK})"
_OFF = r"""(?:
    off|out|open|away|over|loose|lifted|cut|snipped|taped|removed|defeated|bypassed|disconnected|unconnected|floating
)"""
_HAVE = r"(?:use|try|plug|run|leave|keep|fit|wire|buy|carry|make|with|power|leaving|using)"
_WORD = r"(?:[\w'/-]+[ ,]+)"
_DOING = re.compile(
    rf"\b{_STRONG}\b[ ,]+{_WORD}{{0,6}}?{_CONDUCTOR} | \b{_WEAK}\b[ ,]+{_WORD}{{0,2}}?{_CONDUCTOR}", re.I | re.X
)
_GROUND = re.compile(
    rf"\b{_ACT}\b[ ](?:(?:off|out|open)[ ])?(?:the|its|their|your|every|any|one|a)[ ](?:\w+'s[ ])?ground\b",
    re.I | re.X,
)
_LEFT = re.compile(rf"\b{_HAVE}\b.*?{_CONDUCTOR}[ ]+{_WORD}{{0,3}}?{_OFF}\b", re.I | re.X)
_THING = re.compile(
    rf"""cheater | \b(?:ground|earth)[ -]lift(?:er|ers|ing)?\b | \bunearthed\b | \b(?:two|2)[ -](?:pin|prong)\b
       | \bwithout[ ](?:the[ ]|its[ ]|an[ ]|any[ ]|a[ ])?{_CONDUCTOR} | \bearth-?(?:free|less)\b
       | \b(?:lifted|floating|floated)[ ](?:ground|earth)\b""",
    re.I | re.X,
)
_NOT = re.compile(r"\b(?:never|not|cannot|no|nobody|nor|instead of|rather than|without)\b|n't\b", re.I)
_MAY_FOLLOW_NOT = re.compile(
    rf"""{_ACT} | and|or|nor|to|ever|be|you|anyone|anybody|somebody|person|any|it|them|is|are|safe|allowed|should|may
    | must|will|can|has|told|one|the|an?|reason|way|need|excuse|by|with|use|using|on|purpose|if|even""",
    re.I | re.X,
)
_AFTER = re.compile(
    r"\b(?:forbidden|dangerous|deadly|illegal|kills?|against the (?:law|rules)|never|not allowed)\b", re.I
)
_HARM = re.compile(r"\b(?:can|could|may|will) (?:go|be|become|make|turn) (?:\w+ )?(?:live|deadly|lethal)\b", re.I)


def orders_to_defeat_earth(text: str) -> list[str]:
    """Every clause that reads as an order, or as advice, to defeat a protective earth; empty when there is none."""
    text = _LOOP.sub("loop", _AUDIO.sub("audio switch", " ".join(text.split())))
    return [clause.strip() for clause in _ENDS.split(text) if _is_order(clause)]


def _is_order(clause: str) -> bool:
    finds = [found for pattern in (_DOING, _GROUND, _LEFT, _THING) for found in pattern.finditer(clause)]
    return any(not _forbidden(clause, found) for found in finds)


def _forbidden(clause: str, found: re.Match[str]) -> bool:
    """Whether the clause says not to, or says what harm it does."""
    after = clause[found.end() :]
    if _AFTER.search(after) or _HARM.search(after):
        return True
    before = clause[: found.start()]
    negations = list(_NOT.finditer(before))
    if not negations:
        return False
    between = re.findall(r"[\w'-]+", before[negations[-1].end() :].lower())
    return all(_MAY_FOLLOW_NOT.fullmatch(word) for word in between)
