"""Line drawings for the client's page and the handbook, where words fail: what a rounded tip, a flow line or a clean
flake looks like.

All are ours, drawn as a cut through the part or as its face, 120 by 80, in the classes that the page's style sheet
colors (`foam`, `skin`, `mold`, `hole`, `bad`, `rubber`, `paint`, `thin`, `ghost`). A drawing is known by the symptom
or check that it shows; one that the knowledge does not have is left out, and one that has no drawing is told in words
alone.
"""

from __future__ import annotations

from html import escape

from msgspec import Struct


class Drawing(Struct, frozen=True):
    """What is drawn: *alt* is it in words, *body* the shapes inside the frame of 120 by 80."""

    alt: str
    body: str

    def svg(self) -> str:
        """Return the drawing as inline SVG with its text for a screen reader."""
        return (
            f'<svg class="drawing" viewBox="0 0 120 80" role="img" aria-label="{escape(self.alt)}" focusable="false">'
            f"{self.body}</svg>"
        )


def _shape(kind: str, path: str) -> str:
    return f'<path class="{kind}" d="{path}"/>'


def _dots(kind: str, spots: str, radius: float) -> str:
    """Circles at *spots*, written `x,y x,y`; a third number is a radius of its own."""
    drawn = []
    for spot in spots.split():
        x, y, *own = spot.split(",")
        drawn.append(f'<circle class="{kind}" cx="{x}" cy="{y}" r="{own[0] if own else radius:}"/>')
    return "".join(drawn)


#: a cut through a part with its skin, its face, and the tip of a mold with the point up
_CUT = _shape("foam", "M10 16H110V70H10Z") + _shape("skin", "M10 70V16H110V70")
_FACE = _shape("face", "M10 10H110V70H10Z")
_TIP_MOLD = _shape("mold", "M28 78L54 12Q60 2 66 12L92 78H112V2H8V78Z")
_TIP_GHOST = _shape("ghost", "M32 78L55 16Q60 6 65 16L88 78")
_COATED = _shape("foam", "M8 40H112V74H8Z")
_BENCH = _shape("mold", "M4 58H56V78H4Z")
#: a finger that pulls strings from the face of a cut
_STRINGS = _shape("thumb", "M48 0H72V4Q60 12 48 4Z") + _shape("wet", "M52 7L49 16H55ZM60 9L57 16H63ZM68 7L65 16H71Z")


def _flake(kind: str, back: str = "") -> str:
    """A coat on foam, its end lifted like a page; *back* is drawn on the underside of the flap."""
    flat = _shape(kind, "M8 34H62V42H8Z")
    flap = _shape(kind, "M62 34Q84 32 92 8L100 11Q93 40 62 42Z")
    return _COATED + flat + flap + back


DRAWINGS: dict[str, Drawing] = {
    # tips
    "rounded_tips": Drawing(
        "A tip in the mold: the foam ends below the point in a smooth hollow, the point of the mold is empty",
        _TIP_MOLD + _shape("foam", "M28 78L43 40Q60 58 77 40L92 78Z") + _shape("bad", "M43 40Q60 58 77 40"),
    ),
    "hollow_detail": Drawing(
        "A tip with its full outline, but empty behind a thin film",
        _shape("foam", "M28 78L54 12Q60 2 66 12L92 78Z")
        + _shape("hole", "M46 62L57 22Q60 14 63 22L74 62Q60 72 46 62Z"),
    ),
    "short_fill": Drawing(
        "A mold filled only in part: a whole zone at the top is missing",
        _shape("mold", "M4 4H116V76H4Z")
        + _shape("hole", "M16 12H104V68H16Z")
        + _shape("foam", "M16 42Q60 34 104 42V68H16Z"),
    ),
    "detail_torn_off": Drawing(
        "A tip broken off with a ragged end, the piece still up in the mold",
        _TIP_MOLD
        + _shape("foam", "M55 20Q60 6 65 20L70 32L64 29L60 34L56 29L50 32Z")
        + _shape("foam", "M28 78L43 42L50 48L55 41L61 50L67 42L72 48L77 42L92 78Z")
        + _shape("bad", "M43 42L50 48L55 41L61 50L67 42L72 48L77 42"),
    ),
    "solid_tips": Drawing(
        "A tip that is full to the point, the end of it solid rubber without cells",
        _shape("foam", "M28 78L54 12Q60 2 66 12L92 78Z")
        + _shape("rubber", "M43 40L54 12Q60 2 66 12L77 40Z")
        + _dots("hole", "45,66 54,58 64,66 74,60 60,74 50,74 70,74", 1.6),
    ),
    # skin of the foam
    "thin_skin": Drawing(
        "Left a good cut with a thick closed skin, right a bad one with open cells right at the face",
        _shape("foam", "M6 18H56V72H6Z")
        + _shape("skin", "M6 19H56")
        + _shape("foam", "M64 18H114V72H64Z")
        + _dots("hole", "70,19 78,20 87,18 95,20 104,19 110,20", 3)
        + _dots("thin", "16,40 30,52 44,38 24,62 74,40 90,50 104,38 84,62", 2),
    ),
    "thin_skin_at_opening": Drawing(
        "A part with good skin but for the place by the pour opening, where cells lie open",
        _CUT + _shape("hole", "M48 12H72V18H48Z") + _dots("hole", "46,17 52,19 58,18 64,19 70,18 76,17", 3),
    ),
    "pinholes": Drawing(
        "A face with many holes as fine as needle pricks",
        _FACE
        + _dots("hole", " ".join(f"{18 + 13 * i + (j % 2) * 6},{18 + 9 * j}" for i in range(7) for j in range(6)), 1.1),
    ),
    "craters": Drawing(
        "A face with shallow round dishes some millimeters wide, seen from above and in a cut",
        _FACE
        + _dots("bad", "30,24,6 56,32,8 86,22,5 94,42,7", 6)
        + _shape("skin", "M12 60H30Q36 68 42 60H66Q74 69 82 60H108"),
    ),
    "dull_patches": Drawing(
        "A closed face with shiny and dull islands",
        _FACE
        + _shape("shade", "M22 22Q40 12 52 26Q56 42 36 42Q16 40 22 22Z")
        + _shape("shade", "M70 34Q88 26 100 42Q100 60 82 60Q64 56 70 34Z"),
    ),
    "flow_lines": Drawing(
        "A face with curved lines like rings, where two streams met and did not join",
        _FACE
        + "".join(_shape("line", f"M10 {y}Q40 {y - 18} 62 {y}T110 {y - 4}") for y in (26, 40, 54))
        + _shape("bad", "M64 12Q56 40 66 68"),
    ),
    "wrinkled_skin": Drawing(
        "A skin puckered in fine waves",
        _shape("foam", "M10 30Q16 22 22 30T34 30T46 30T58 30T70 30T82 30T94 30T110 30V72H10Z")
        + _shape("skin", "M10 30Q16 20 22 30T34 30T46 30T58 30T70 30T82 30T94 30T110 30"),
    ),
    "powdery_skin": Drawing(
        "A face that comes off as chalky crumbs",
        _CUT + _dots("bad", "20,12 28,8 37,11 46,7 58,11 66,6 77,11 88,8 98,11 34,4 70,3", 1.8),
    ),
    "cracked_skin": Drawing(
        "A bent part whose skin opens in cracks across the bend",
        _shape("foam", "M8 66Q60 -20 112 66L92 74Q60 26 28 74Z")
        + _shape("bad", "M44 30L50 44M58 24L58 40M72 28L67 43M84 38L74 50M34 40L43 51"),
    ),
    "torn_skin": Drawing(
        "The mold lifted off with a piece of skin left on it, a bare patch on the part",
        _shape("mold", "M6 4H114V16H6Z")
        + _shape("skin", "M46 19Q60 24 78 19")
        + _shape("foam", "M6 40H114V74H6Z")
        + _shape("skin", "M6 40H44M80 40H114")
        + _dots("hole", "49,42 56,43 63,42 70,43 76,42", 2.6),
    ),
    # inside
    "smooth_pockets": Drawing(
        "A cut with one large pocket, its walls smooth",
        _CUT + _shape("hole", "M42 24Q66 14 84 28Q88 44 64 46Q38 44 42 24Z"),
    ),
    "ragged_cavities": Drawing(
        "A cut with a torn hole, strings across it",
        _CUT
        + _shape("hole", "M36 34L46 26L54 34L64 24L74 34L86 30L82 44L90 54L74 52L66 62L56 52L42 58L46 46Z")
        + _shape("thin", "M50 32L60 56M64 28L72 52M44 44L84 40"),
    ),
    "scattered_bubbles": Drawing(
        "A cut with many round holes of 1 to 5 mm",
        _CUT
        + _dots(
            "hole",
            "22,30,3 34,46,4 48,32,2.5 56,56,4 66,28,3.5 74,46,2.5 86,34,4 98,52,3 26,60,2.5 92,62,2 44,62,3 104,28,2",
            3,
        ),
    ),
    "blisters": Drawing(
        "A skin lifted in a bubble with gas under it",
        _shape("foam", "M10 30H110V72H10Z")
        + _shape("hole", "M38 30Q60 2 82 30Q60 40 38 30Z")
        + _shape("skin", "M10 30H38Q60 2 82 30H110"),
    ),
    "coarse_cells": Drawing(
        "A cut with big uneven cells",
        _CUT
        + _shape(
            "thin",
            "M12 34L26 26L40 36L36 52L20 56ZM40 36L58 24L74 34L70 52L52 58L36 52ZM74 34L92 26L108 38L102 56L84 60L70 "
            "52ZM52 58L56 70M84 60L82 70M20 56L18 70",
        ),
    ),
    "dense_bottom": Drawing(
        "A cut with a solid layer at the bottom",
        _CUT
        + _shape("rubber", "M10 56H110V70H10Z")
        + _dots("hole", "24,32 40,42 58,30 76,42 94,32 32,50 66,50 88,50", 2),
    ),
    "layered_foam": Drawing(
        "A cut that parts along a flat layer", _CUT + _shape("hole", "M10 42Q36 38 60 42T110 42V46Q84 42 60 46T10 46Z")
    ),
    "vertical_channels": Drawing(
        "A cut with upright tubes and tear drops",
        _CUT
        + "".join(
            _shape("hole", f"M{x} 24Q{x + 5} 44 {x + 4} 58Q{x} 66 {x - 4} 58Q{x - 5} 44 {x} 24Z")
            for x in (26, 46, 66, 88)
        ),
    ),
    # rise and shape
    "collapse": Drawing(
        "Foam that had risen to a dome and sank to a hollow",
        _shape("ghost", "M16 34Q60 -10 104 34")
        + _shape("foam", "M16 34Q30 38 38 52Q60 66 82 52Q90 38 104 34V74H16Z")
        + _shape("arrow", "M60 18V44M54 37L60 45L66 37"),
    ),
    "low_rise": Drawing(
        "Dense foam that stopped far below the height it should have",
        _shape("ghost", "M16 72V16H104V72") + _shape("rubber", "M16 50Q60 46 104 50V72H16Z"),
    ),
    "heavy_flash": Drawing(
        "Two mold halves pushed apart, a fin of foam out of the seam",
        _shape("mold", "M20 4H100V32H20Z")
        + _shape("mold", "M20 48H100V76H20Z")
        + _shape("foam", "M32 20H88V60H32Z")
        + _shape("foam", "M2 36H118V44H2Z"),
    ),
    "shrinkage": Drawing(
        "A part drawn in from its first outline, its faces dimpled",
        _shape("ghost", "M12 8H108V74H12Z") + _shape("foam", "M22 18Q60 34 98 18Q88 42 98 66Q60 52 22 66Q32 42 22 18Z"),
    ),
    "swelling": Drawing(
        "A part domed out beyond its first outline, split at one place",
        _shape("foam", "M18 20Q60 2 102 20Q116 42 102 64Q60 80 18 64Q4 42 18 20Z")
        + _shape("ghost", "M20 20H100V64H20Z")
        + _shape("bad", "M92 10L96 18L92 22L100 28"),
    ),
    "scorched_core": Drawing(
        "A cut with a brown middle", _CUT + '<ellipse class="scorch" cx="60" cy="46" rx="30" ry="15"/>'
    ),
    "split_foam": Drawing(
        "A part split open at a joint or seam",
        _CUT + _shape("hole", "M58 14L64 28L56 40L66 54L60 70L54 70L58 54L48 40L56 28L54 14Z"),
    ),
    "tacky_streaks": Drawing(
        "A face with sticky stripes, wet beads and a pool",
        _FACE
        + _shape("wet", "M24 12Q32 34 22 66L30 66Q40 34 32 12Z")
        + _dots("wet", "58,26 66,40 56,52 72,22", 3.5)
        + _shape("wet", "M80 50Q96 40 104 54Q98 66 84 62Q76 58 80 50Z"),
    ),
    # rubber skin
    "skin_peels_clean": Drawing(
        "A rubber skin lifts off the foam, the underside of the flap is clean", _flake("rubber")
    ),
    "skin_peels_with_foam": Drawing(
        "A rubber skin lifts off with torn foam on its underside",
        _flake("rubber", _dots("foam", "74,44 82,38 89,30 95,22 68,45", 4))
        + _dots("hole", "70,42 78,43 86,42 94,43", 3),
    ),
    "skin_gaps": Drawing(
        "Pockets between the rubber skin and the foam",
        _COATED + _shape("rubber", "M8 28H112V40H8Z") + _shape("hole", "M28 40Q42 52 56 40ZM74 40Q84 48 96 40Z"),
    ),
    "foam_through_skin": Drawing(
        "Foam breaks through the rubber skin to the face",
        _COATED + _shape("rubber", "M8 28H112V40H8Z") + _shape("foam", "M40 42Q44 26 52 28Q58 22 64 29Q72 28 74 42Z"),
    ),
    "skin_coat_bubbles": Drawing(
        "Bubbles inside the rubber skin itself",
        _COATED + _shape("rubber", "M8 20H112V40H8Z") + _dots("hole", "22,30 38,27 54,32 70,28 86,31 100,27", 3.4),
    ),
    "skin_coat_uneven": Drawing(
        "A rubber skin thin on the ridges and pooled in the hollows",
        _shape("foam", "M8 40Q24 10 40 40T72 40T112 40V74H8Z")
        + _shape("rubber", "M8 40Q24 10 40 40T72 40T112 40L112 33Q92 18 84 33Q72 22 60 37Q40 26 36 30Q24 8 8 34Z"),
    ),
    # paint
    "paint_peels_clean": Drawing("A flake of paint lifts, its back is clean", _flake("paint")),
    "paint_peels_with_foam": Drawing(
        "A flake of paint lifts with foam skin or crumbs on its back",
        _flake("paint", _dots("foam", "74,44 82,38 89,30 95,22 68,45", 4)),
    ),
    "paint_fisheyes": Drawing(
        "Wet paint draws back in round craters and bares the face",
        _shape("paint", "M10 10H110V70H10Z") + _dots("eye", "32,28,8 66,22,5 84,46,10 44,56,6", 7),
    ),
    "paint_cracks": Drawing(
        "Paint cracked across a bend",
        _shape("paint", "M8 66Q60 -20 112 66L92 74Q60 26 28 74Z")
        + _shape("bad", "M44 30L50 44M58 24L58 40M72 28L67 43M84 38L74 50M34 40L43 51"),
    ),
    "paint_blisters": Drawing(
        "Paint lifted in bubbles",
        _COATED
        + _shape("paint", "M8 40V34H24Q36 12 48 34H66Q76 18 86 34H112V40Z")
        + _shape("hole", "M26 40Q36 18 46 40ZM68 40Q76 24 84 40Z"),
    ),
    "paint_wrinkles": Drawing(
        "Paint shriveled in waves",
        _COATED + _shape("paint", "M8 40V32Q14 20 20 32T32 32T44 32T56 32T68 32T80 32T92 32T112 32V40Z"),
    ),
    # what a finger, a bench and a balance tell
    "tacky_through": Drawing(
        "A sticky face that pulls strings to a finger, and a cut as sticky inside",
        _CUT + _STRINGS + _dots("wet", "24,36 44,52 70,36 94,50 58,64 100,28 26,60", 3.4),
    ),
    "tacky_face_only": Drawing(
        "A sticky face that pulls strings to a finger, the cut below it dry",
        _CUT + _STRINGS + _dots("thin", "24,34 42,48 64,34 86,46 100,30 30,60 58,58 82,62", 2),
    ),
    "tacky_fading": Drawing(
        "The same face a day later: first wet with drops, then dry",
        _shape("foam", "M6 26H48V66H6Z")
        + _shape("foam", "M72 26H114V66H72Z")
        + _shape("skin", "M6 26H48M72 26H114")
        + _dots("wet", "12,22 21,20 30,22 40,21", 3.2)
        + _shape("arrow", "M52 46H67M61 40L68 46L61 52"),
    ),
    "oily_film": Drawing(
        "A film of oil on the face, and a tissue that turns see-through on it",
        _CUT + _shape("wet", "M10 8Q60 2 110 8V16H10Z") + _shape("tape", "M60 0L98 3L92 26L54 20Z"),
    ),
    "too_soft": Drawing(
        "A part that hangs limp over the edge of the bench",
        _BENCH + _shape("foam", "M8 42Q56 38 84 44Q106 50 106 78L92 78Q90 60 70 58H8Z"),
    ),
    "too_hard": Drawing(
        "A part that stands out stiff over the edge of the bench, though it is pressed down",
        _BENCH + _shape("foam", "M8 42H112V58H8Z") + _shape("arrow", "M102 8V34M95 27L102 35L109 27"),
    ),
    "overweight": Drawing(
        "A balance: the new part pulls its side down, the last good one is up",
        _shape("line", "M16 22L104 42M60 32V74M44 74H76")
        + _shape("foam", "M6 4H28V22H6Z")
        + _shape("rubber", "M92 22H116V42H92Z"),
    ),
    "underweight": Drawing(
        "A balance: the new part is up, the last good one pulls its side down",
        _shape("line", "M16 42L104 22M60 32V74M44 74H76")
        + _shape("foam", "M6 24H28V42H6Z")
        + _shape("ghost", "M92 2H116V22H92Z"),
    ),
    # color, shape, armature
    "colour_streaks": Drawing(
        "A face with light and dark swirls",
        _FACE
        + "".join(
            _shape("shade", f"M12 {y}Q36 {y - 14} 60 {y}T108 {y - 2}V{y + 5}Q84 {y + 14} 60 {y + 7}T12 {y + 8}Z")
            for y in (22, 40, 56)
        ),
    ),
    "shade_differs": Drawing(
        "Two parts side by side, each of one even color, one darker than the other",
        _shape("foam", "M6 16H56V68H6Z") + _shape("shade", "M64 16H114V68H64Z"),
    ),
    "yellowing": Drawing(
        "The same part new and later, yellow from its faces in",
        _shape("foam", "M6 18H48V66H6Z")
        + _shape("wet", "M72 18H114V66H72Z")
        + _shape("foam", "M82 30H104V56H82Z")
        + _shape("arrow", "M52 42H67M61 36L68 42L61 48"),
    ),
    "hard_specks": Drawing(
        "A cut with hard dark grains in good foam",
        _CUT + _dots("scorch", "26,32 44,50 58,30 74,56 90,36 100,58 32,62 66,44", 2.6),
    ),
    "crumbly_core": Drawing(
        "A cut whose middle falls to crumbs like cake",
        _CUT
        + _shape("hole", "M34 28L48 24L60 30L74 24L88 30L84 46L92 60L72 58L60 64L46 58L32 62L38 46Z")
        + _dots("foam", "46,38,4 58,46,5 72,38,4 76,52,3.5 50,54,3 64,34,3", 4),
    ),
    "thick_rind": Drawing(
        "A cut with a leathery shell, thick as a coin, that lets go of the foam below it",
        _shape("foam", "M10 32H110V72H10Z")
        + _shape("rubber", "M10 12H110V32H10Z")
        + _shape("hole", "M26 32Q60 46 94 32Z"),
    ),
    "warped": Drawing(
        "A part that is bent out of the outline that it should have",
        _shape("ghost", "M14 26H106V58H14Z") + _shape("foam", "M12 36Q60 2 108 44L100 74Q60 36 20 66Z"),
    ),
    "seam_step": Drawing(
        "Two halves of a part that do not meet level, with a ledge at the seam",
        _shape("foam", "M8 14H60V62H8Z")
        + _shape("foam", "M60 26H112V74H60Z")
        + _shape("skin", "M8 14H60M60 26H112")
        + _shape("bad", "M60 12V28"),
    ),
    "wall_uneven": Drawing(
        "A cut through a hollow part: one wall thick, the other thin",
        '<ellipse class="foam" cx="60" cy="40" rx="52" ry="34"/>'
        '<ellipse class="hole" cx="73" cy="40" rx="35" ry="22"/>',
    ),
    "foam_off_armature": Drawing(
        "A rod that turns loose in a sleeve of foam",
        _CUT
        + _shape("hole", "M10 36Q60 26 110 36V54Q60 62 10 54Z")
        + _shape("mold", "M2 41H118V49H2Z")
        + _shape("arrow", "M52 24Q64 12 74 24M75 15L74 25L65 22"),
    ),
    "flat_spots": Drawing(
        "A round part with a flat where it lay",
        _shape("foam", "M14 72Q8 26 38 14H82Q112 26 106 72Z")
        + _shape("ghost", "M38 14Q60 -6 82 14")
        + _shape("bad", "M38 14H82"),
    ),
    "sticks_to_mold": Drawing(
        "A part that is pulled out of the mold hangs on to it, stretched and torn",
        _shape("mold", "M6 4H114V16H6Z")
        + _shape("foam", "M18 16H40Q32 34 44 50H70Q78 34 72 16H98Q90 36 110 50V76H10V50Q26 36 18 16Z")
        + _shape("bad", "M44 50L50 40L56 48L62 38L70 50"),
    ),
    # soft skins and paint
    "skin_coat_soft": Drawing(
        "A rubber skin in which a nail leaves a groove, with drops standing on it",
        _COATED
        + _shape("rubber", "M8 26H44Q54 44 64 26H112V40H8Z")
        + _shape("thumb", "M46 0H62V16Q54 32 46 16Z")
        + _dots("wet", "78,23 90,22 102,23 22,23", 2.8),
    ),
    "paint_stays_soft": Drawing(
        "A finger leaves its print in paint and pulls strings from it",
        _COATED
        + _shape("paint", "M8 30H44Q60 42 76 30H112V40H8Z")
        + _shape("thumb", "M50 0H70V10Q60 20 50 10Z")
        + _shape("paint", "M54 15L52 33H56ZM60 17L58 36H62ZM66 15L64 33H68Z"),
    ),
    "paint_hazy": Drawing(
        "Paint cracked like mud on a part that nobody bent",
        _shape("paint", "M10 10H110V70H10Z")
        + _shape(
            "skin",
            "M10 30L32 24L46 36L70 26L86 38L110 30M32 24L38 10M70 26L66 10"
            "M46 36L40 54L10 50M86 38L82 56L56 52L40 54L44 70",
        ),
    ),
    "paint_left_in_mold": Drawing(
        "The mold lifted off with paint left on it, a bare patch on the part",
        _shape("mold", "M6 4H114V16H6Z")
        + _shape("paint", "M42 16H82V22H42Z")
        + _shape("foam", "M6 46H114V76H6Z")
        + _shape("paint", "M6 39H42V46H6ZM82 39H114V46H82Z"),
    ),
    "paint_blocks": Drawing(
        "Two painted parts stuck together, the paint tears as they part",
        _shape("foam", "M8 4H112V26H8Z")
        + _shape("paint", "M8 26H112V32H90L86 48H76L72 32H48L44 48H34L30 32H8Z")
        + _shape("paint", "M8 48H112V54H8Z")
        + _shape("foam", "M8 54H112V76H8Z"),
    ),
    "paint_wears": Drawing(
        "Paint rubbed through where a part is handled",
        _COATED
        + _shape("paint", "M8 32H40L48 40H8ZM80 32H112V40H72Z")
        + _shape("arrow", "M42 18H78M49 12L41 18L49 24M71 12L79 18L71 24"),
    ),
    # checks
    "where_worst": Drawing(
        "A mold as it stood: top with the pour opening, tips, ridges, hollows, seam down the side, bottom",
        _shape("foam", "M30 26L36 4L46 20H74L84 4L90 26Q98 50 84 66Q60 78 36 66Q22 50 30 26Z")
        + _shape("line", "M60 20V72")
        + _shape("hole", "M54 16H66V24H54Z")
        + _shape("thin", "M40 42Q46 36 52 42M68 42Q74 36 80 42M48 58Q60 64 72 58")
        + '<text x="4" y="12">tips</text><text x="90" y="40">ridge</text><text x="2" y="48">hollow</text>'
        '<text x="63" y="14">opening</text><text x="62" y="56">seam</text><text x="84" y="77">bottom</text>',
    ),
    "peel_back": Drawing(
        "Turn the flake over and look at its back: clean, crumbs of foam, or a slippery film",
        _flake("paint", _shape("arrow", "M106 30Q112 46 96 54M103 55L95 54L99 47")),
    ),
    "press_test": Drawing(
        "A thumb pressed into the part for five seconds",
        _shape("foam", "M8 40H44Q60 62 76 40H112V74H8Z")
        + _shape("thumb", "M52 4H68V40Q60 54 52 40Z")
        + _shape("skin", "M8 40H44Q60 62 76 40H112"),
    ),
    "stick_test": Drawing(
        "A stick pushed to the bottom of the can",
        _shape("mold", "M30 16H90V76H30Z")
        + _shape("wet", "M36 30H84V70H36Z")
        + _shape("stick", "M66 2L58 70L52 69L60 2Z"),
    ),
    "tape_test": Drawing(
        "A lattice cut through the paint, and tape pressed over it",
        _shape("paint", "M10 10H110V70H10Z")
        + "".join(_shape("line", f"M{x} 22V62M34 {x - 20}H86") for x in (44, 54, 64, 74))
        + _shape("tape", "M20 32H100V52H20Z"),
    ),
}


def drawing_of(name: str) -> Drawing | None:
    """Return the drawing of a symptom or check, or None where words do."""
    return DRAWINGS.get(name)
