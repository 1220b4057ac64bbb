"""The cautions every publication ends with: common practice of the trade, in our own words (source: trade)."""

from __future__ import annotations

from dataclasses import dataclass

SOURCE = "trade"


@dataclass(frozen=True, slots=True)
class CautionGroup:
    """Cautions that belong to one moment of the work."""

    title: str
    sentences: tuple[str, ...]


STANDING_CAUTIONS: tuple[CautionGroup, ...] = (
    CautionGroup(
        "Before the lathe is switched on",
        (
            "Wear a full face shield over proper glasses. A shield stops chips; it does not stop a blank.",
            "Turn the blank by hand through two whole turns, then check that everything that locks is locked.",
            "Start at the lowest speed; at every start and change of speed, stand out of the plane of the blank.",
            "Keep other people out of that plane too.",
            "Bring up the tailstock whenever the cut leaves room for it, on glued and on screwed work alike.",
            "No gloves, loose sleeves, jewellery or hair that can be caught; no cracks, loose bark or loose knots in "
            "the blank.",
        ),
    ),
    CautionGroup(
        "While turning",
        (
            "Stop at the first tick, wobble, new sound or smell, and look at the joint before going on.",
            "A gap that can be seen is the end of the mount: do not turn past it.",
            "If it begins to let go, step sideways and stop the lathe from there; never reach across the work.",
            "After the first roughing, tighten the screws again.",
        ),
    ),
    CautionGroup(
        "The glue and the block",
        (
            "Give every glue its full cure before it is asked for anything.",
            "Hot melt, tape and cyanoacrylate are for small, light work that is also held another way.",
            "A joint with paper in it is made to split: light, unbroken cuts only.",
            "White and yellow glues creep under a lasting load: do not leave heavy work hanging on one.",
            "Sanding heat, wet sanding and the solvents of a finish soften hot melt, cyanoacrylate and white glue.",
            "Wood moves: a blank and a block that differ by more than 2 % moisture, or cross-grain joints over 100 mm "
            "left for more than three days, need a fresh look before they turn again.",
            "Each remounting is a new mount: clean seat, locked plate, a turn by hand, and the runout read again.",
            "When the block comes off, part, saw, split or warm it; keep 3 mm clear of the screw tips, and never lever "
            "toward yourself.",
        ),
    ),
    CautionGroup(
        "Pulling joints apart",
        (
            "A stretched strap or bent bar gives back all it holds when the joint breaks: stand aside, never in line.",
            "Catch the loose part in a box or on a tether, and keep fingers out of the gap.",
            "Hang weights no more than 50 mm above something soft, and block the fall of a lever.",
            "Stay within a jack's rating, with no pipe on its handle; fluid under pressure goes through skin.",
            "If the lathe is the clamp, pull its plug first; never test a joint on a running lathe.",
        ),
    ),
    CautionGroup(
        "What this page is not",
        (
            "These are engineering estimates from the pulls shown. They stand behind the lathe's manual, the glue "
            "maker's instructions, the rules of your workplace and country, and a qualified instructor; where they "
            "differ, follow the stricter.",
            "The person at the lathe decides, and answers for it.",
        ),
    ),
)
"""Printed at the end of every page, whatever it shows."""
