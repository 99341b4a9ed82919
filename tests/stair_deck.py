"""A small rectangular deck with one stair, for the stair tests: 16 ft 6 in by 12 ft 6 in, the stair off the middle of
its front edge."""

from plumbcut.model.input.parameters import Parameters
from plumbcut.model.pieces.frame import build_frame
from plumbcut.model.pieces.stairs import build_stairs
from plumbcut.model.pieces.support import build_support
from plumbcut.model.pieces.surface import build_surface
from plumbcut.model.pieces.trim import build_trim
from plumbcut.model.plan.layout import lay_out
from plumbcut.model.plan.spots import StairPlan
from plumbcut.model.plan.stages import LevelPlan
from plumbcut.model.solid.part import Part, Workshop
from plumbcut.shared.stock import lumber


def layout_with(height: float, stair: dict | None = None, **sections) -> LevelPlan:
    """The layout of the deck at that height; `sections` override sections of the parameter file."""
    levels = {"surface": height, **sections.pop("levels", {})}
    return lay_out(
        Parameters.model_validate(
            {
                "outline": {"width": 198, "depth": 150},
                "levels": levels,
                "stair": [{"edge": "front", **(stair or {})}],
                **sections,
            }
        )
    )


def planned(height: float, stair: dict | None = None, **sections) -> StairPlan:
    return layout_with(height, stair, **sections).stair_plans[0]


def stair_parts(layout: LevelPlan) -> list[Part]:
    """Stair pieces, what carries their landings, and the guard posts that stand beside them, as plain posts."""
    shop = Workshop()
    under = [p for p in build_support(layout, shop) if p.stair is not None]
    return build_stairs(layout, shop) + under + guard_posts(layout, shop)


def guard_posts(layout: LevelPlan, shop: Workshop) -> list[Part]:
    stock, planes = lumber(layout.parameters.guard.post), layout.planes
    posts = [
        shop.upright("guard post", stock, p.polygon, planes.frame_bottom, planes.surface_top + 40, where="deck")
        for p in layout.posts
    ]
    for plan in layout.stair_plans:
        posts += [
            shop.upright("guard post", stock, p.polygon, p.bottom, p.bottom + 60, where=f"stair {p.kind}")
            for p in plan.posts
        ]
    return posts


def whole_deck(layout: LevelPlan) -> list[Part]:
    """Everything but rails and balusters."""
    shop = Workshop()
    return (
        build_support(layout, shop)
        + build_frame(layout, shop)
        + build_surface(layout, shop)
        + build_trim(layout, shop)
        + build_stairs(layout, shop)
        + guard_posts(layout, shop)
    )
