"""What the calculation takes for granted, in the words that its page and its report print."""

from __future__ import annotations

ASSUMPTIONS = (
    "Blocking and border blocking pass their load on to the joists and rims beside them.",
    (
        "Every square foot of the surface is the nearest joist's or rim's; what lies past the last of them is all that"
        " one's, and takes nothing off the one before. At a rim slanted to the joists the border lies on rim and blocks"
        " by the lever, the boards beside it on the blocks under their ends."
    ),
    "Live and snow load stand on any spans and overhangs and are absent from the others, whichever is worse.",
    (
        "A ply spliced over a post is hinged there; the plies of a beam share its load by their thickness. Their"
        " nails pass on what hangs on the face of one. What stands on less than six inches past an end support is that"
        " support's."
    ),
    "Sections are whole: notches are not taken off them, their published limits are checked.",
    (
        "Dead load includes the frame's own weight. Guards and skirting come to it by the weight of their pieces;"
        " planters and other furniture are not included."
    ),
    (
        "What lies on a stringer rests on what holds it as on simple spans, or as it does where the stringer runs on"
        " over a cross piece, whichever is more at each place. A stringer is a beam on its horizontal length over its"
        " ends and the cross pieces under it; a cut one has its throat all along. No share of the load is taken off it"
        " for those beside it, nor off one ply of a hip stringer for the other."
    ),
    (
        "Earthquake and flood loads, and wind from below, are not calculated; wind from the sides is where the file"
        " states exposure and speed. Nails of a rim and the ledger's fasteners are, by the yield equations; the"
        " capacity of connectors is what the file gives of them. The load on a guard has the duration of a live load;"
        " its rails are simple beams from post to post."
    ),
)

OF_NOTCHED_POSTS = (
    "A notched post bears its beam on the shoulder alone, and is loaded off its axis by as much as that bearing lies;"
    " its bolts take no load down."
)

OF_AREA_LOADS = (
    "Area loads stand where they are given at their full weight, beside the uniform live load, or are not there at all,"
    " whichever is worse; what they bend a member by counts with the live load. What stands between two joists comes to"
    " both by the lever."
)


OF_ROOF_SNOW = (
    "Snow from the roof above lies where it drifts or where it slides, whole, one at a time or not at all, with the"
    " snow load of each combination. The drift is put on in twelve strips, each at the mean of the triangle over it:"
    " all together weigh what it does, and bend joists from the house outwards no less. It starts at the edges under"
    " the eave; stairs and their landings take none of it."
)
