"""What the geometry kernel itself says a section through a solid is: oracle of the views and of the section sheet."""

from __future__ import annotations

import numpy as np
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
from OCP.BRepGProp import BRepGProp
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
from OCP.GProp import GProp_GProps

from plumbcut.exports.linework.eye import Eye


def occ_section_area(part, view: Eye) -> float:
    """Area of the solid's common with a large planar face (OpenCASCADE boolean)."""
    n = np.asarray(view.toward)
    plane = gp_Pln(gp_Pnt(*(n * view.plane)), gp_Dir(*n))
    face = BRepBuilderAPI_MakeFace(plane, -1000, 1000, -1000, 1000).Face()
    props = GProp_GProps()
    BRepGProp.SurfaceProperties_s(BRepAlgoAPI_Common(part.solid.wrapped, face).Shape(), props)
    return props.Mass()
