"""`model.ifc`: the deck as IFC4 for other building programs, every piece with its mark, material and measured
quantities.

Written through the public interface of ifcopenshell. That library is under the LGPL (3.0 or later): it is therefore an
extra (`plumbcut[ifc]`), used unchanged and only where it is installed, and nothing else here needs it.

Lengths are in inches, areas in square feet, volumes in cubic feet, weights in pounds, each declared in the file. Pieces
cut alike share one type and one shape. Identifiers come from the pieces' ids and the header holds no clock, so the same
deck gives the same file. The standard's own tables (IFC4 ADD2 TC1) name the classes, types and quantity sets.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Sequence
from datetime import date
from importlib.util import find_spec
from pathlib import Path

from ...model.measuring.measure import Measured
from ...model.solid.kernel import Shape
from ...model.solid.part import Part, Place
from ...shared.errors import MissingLibrary
from ...shared.stock import weight
from ..drafting.cautions import SENTENCES
from ..pictures.colours import colour
from .ifc_kinds import USER, IfcKind, kind
from .ifc_stairs import Assembly, assemblies

NO_DATE = "1970-01-01T00:00:00"  # in the header where the parameter file gives no date of issue
_SPACE = uuid.uuid5(uuid.NAMESPACE_OID, "plumbcut model.ifc")


def available() -> bool:
    """Whether ifcopenshell is installed."""
    return find_spec("ifcopenshell") is not None


def require() -> None:
    """Raise MissingLibrary, saying how to install it, where ifcopenshell is not there."""
    if not available():
        raise MissingLibrary("model.ifc needs the Python package ifcopenshell: pip install ifcopenshell")


def write_ifc(deck, measured: Sequence[Measured], path: str | Path) -> None:
    """Write the deck; `measured` are its parts' measurements in order. Raises MissingLibrary without ifcopenshell."""
    require()
    _Writer(deck, measured).write(Path(path))


_AT_ORIGIN = Place((0.0, 0.0, 0.0))


class _Writer:
    def __init__(self, deck, measured: Sequence[Measured]):
        import ifcopenshell

        self.deck, self.measured = deck, list(measured)
        self.file = ifcopenshell.file(schema="IFC4")
        self.project = deck.parameters.project
        self.seed = "|".join((self.project.name, self.project.number, self.project.address))
        self.products: dict[str, object] = {}
        self.styles: dict[tuple, object] = {}

    def add(self, entity: str, *values, **named):
        return self.file.create_entity(f"Ifc{entity}", *values, **named)

    def root(self, entity: str, key: str, name: str | None = None, **named):
        """An entity with an identifier made of `key`, which is one of a kind in the file."""
        import ifcopenshell.guid

        guid = ifcopenshell.guid.compress(uuid.uuid5(_SPACE, f"{self.seed}|{entity}|{key}").hex)
        return self.add(entity, GlobalId=guid, Name=name, **named)

    def write(self, path: Path) -> None:
        self._frame()
        marks: dict[str, list[Measured]] = {}
        for m in self.measured:
            marks.setdefault(m.mark, []).append(m)
        whole = assemblies(self.deck, self.measured)
        homes = {id_: a for a in whole for id_ in a.pieces}
        self._assemblies(whole)
        types = [self._mark(pieces, homes) for pieces in marks.values()]
        self.root("RelDeclares", "types", RelatingContext=self.top, RelatedDefinitions=types)
        self._inside(whole, homes)
        self._materials(marks, types)
        self._carried()
        self._header(path.name)
        self.file.write(str(path))

    # the frame of the file: units, contexts, project, site, building, storey

    def _frame(self) -> None:
        def unit(kind: str, name: str, value: str, factor: float, si: str, powers: tuple[int, int], prefix=None):
            """`powers` of length and mass; the factor is exact by the definition of the inch and the pound."""
            by = self.add(
                "MeasureWithUnit", self.add(value, factor), self.add("SIUnit", UnitType=kind, Prefix=prefix, Name=si)
            )
            return self.add(
                "ConversionBasedUnit", self.add("DimensionalExponents", *powers, 0, 0, 0, 0, 0), kind, name, by
            )

        units = [
            unit("LENGTHUNIT", "inch", "LengthMeasure", 0.0254, "METRE", (1, 0)),
            unit("AREAUNIT", "square foot", "AreaMeasure", 0.09290304, "SQUARE_METRE", (2, 0)),
            unit("VOLUMEUNIT", "cubic foot", "VolumeMeasure", 0.028316846592, "CUBIC_METRE", (3, 0)),
            unit("MASSUNIT", "pound", "MassMeasure", 0.45359237, "GRAM", (0, 1), "KILO"),
            self.add("SIUnit", UnitType="PLANEANGLEUNIT", Name="RADIAN"),
        ]
        world = self.placement(Place((0.0, 0.0, 0.0)))
        context = self.add(
            "GeometricRepresentationContext",
            ContextType="Model",
            CoordinateSpaceDimension=3,
            Precision=1e-6,
            WorldCoordinateSystem=world,
        )
        self.body = self.add(
            "GeometricRepresentationSubContext",
            ContextIdentifier="Body",
            ContextType="Model",
            ParentContext=context,
            TargetView="MODEL_VIEW",
        )
        self.as_made = self.add("CartesianTransformationOperator3D", LocalOrigin=self.point((0, 0, 0)))
        p = self.project
        self.top = self.root(
            "Project",
            "project",
            p.name,
            Description=" ".join(SENTENCES),
            LongName=p.number or None,
            RepresentationContexts=[context],
            UnitsInContext=self.add("UnitAssignment", units),
        )
        site = self.root(
            "Site", "site", p.address or "Site", ObjectPlacement=self.local(None), CompositionType="ELEMENT"
        )
        building = self.root(
            "Building", "building", p.name, ObjectPlacement=self.local(site), CompositionType="ELEMENT"
        )
        self.storey = self.root(
            "BuildingStorey",
            "deck",
            "Deck",
            ObjectPlacement=self.local(building),
            CompositionType="ELEMENT",
            Elevation=0.0,
        )
        for whole, part in ((self.top, site), (site, building), (building, self.storey)):
            self.root("RelAggregates", f"in {whole.is_a()}", RelatingObject=whole, RelatedObjects=[part])

    def point(self, xyz):
        return self.add("CartesianPoint", [float(c) for c in xyz])

    def placement(self, place: Place):
        if place.x == (1.0, 0.0, 0.0) and place.y == (0.0, 1.0, 0.0):
            return self.add("Axis2Placement3D", self.point(place.origin))
        return self.add(
            "Axis2Placement3D",
            self.point(place.origin),
            self.add("Direction", [float(c) for c in place.z]),
            self.add("Direction", [float(c) for c in place.x]),
        )

    def local(self, home, place: Place = _AT_ORIGIN):
        return self.add("LocalPlacement", home.ObjectPlacement if home else None, self.placement(place))

    # pieces, mark by mark

    def _mark(self, pieces: list[Measured], homes: dict[str, Assembly]):
        """The type of a mark with its shape, and all its pieces; returns the type."""
        first = pieces[0]
        k = kind(first.part)
        own = first.role.upper() if k.type == USER else None
        shape = self.add("RepresentationMap", self.placement(Place((0.0, 0.0, 0.0))), self._solid(first.part))
        made = self.root(
            f"{k.entity}Type",
            first.mark,
            f"{first.role} {first.mark}",
            Tag=first.mark,
            RepresentationMaps=[shape],
            ElementType=own,
            PredefinedType=k.type,
        )
        found = []
        for m in pieces:
            home = homes.get(m.id)
            whole = self.products[home.key] if home else self.storey
            mapped = self.add(
                "ShapeRepresentation",
                self.body,
                "Body",
                "MappedRepresentation",
                [self.add("MappedItem", shape, self.as_made)],
            )
            product = self.root(
                k.entity,
                m.id,
                f"{m.role} {m.id}",
                Description=m.part.where or None,
                ObjectType=own or m.stock.name,
                ObjectPlacement=self.local(whole, m.part.place),
                Tag=m.mark,
                PredefinedType=k.type,
                Representation=self.add("ProductDefinitionShape", None, None, [mapped]),
            )
            self.products[m.id] = product
            found.append(product)
        self.root("RelDefinesByType", first.mark, RelatedObjects=found, RelatingType=made)
        for key, what in (("quantities", self._quantities(first, k)), ("cut", self._cut(first))):
            self.root(
                "RelDefinesByProperties", f"{first.mark} {key}", RelatedObjects=found, RelatingPropertyDefinition=what
            )
        return made

    def _solid(self, part: Part):
        shape = part.shape
        solid = self.add(
            "ExtrudedAreaSolid",
            self._profile(shape),
            None,
            self.add("Direction", [0.0, 0.0, 1.0]),
            float(shape.thickness),
        )
        self.add("StyledItem", solid, [self._style(part)])
        return self.add("ShapeRepresentation", self.body, "Body", "SweptSolid", [solid])

    def _profile(self, shape: Shape):
        if shape.circle is not None:
            return self.add("CircleProfileDef", "AREA", None, None, float(shape.circle))
        if shape.holes:
            return self.add(
                "ArbitraryProfileDefWithVoids",
                "AREA",
                None,
                self._ring(shape.outline),
                [self._ring(h) for h in shape.holes],
            )
        return self.add("ArbitraryClosedProfileDef", "AREA", None, self._ring(shape.outline))

    def _ring(self, ring):
        points = [self.point(p[:2]) for p in ring]
        return self.add("Polyline", [*points, points[0]])

    def _style(self, part: Part):
        rgb = colour(part)
        if rgb not in self.styles:
            shade = self.add("SurfaceStyleShading", self.add("ColourRgb", None, *(c / 255 for c in rgb)))
            self.styles[rgb] = self.add("SurfaceStyle", part.role, "BOTH", [shade])
        return self.styles[rgb]

    def _quantities(self, m: Measured, k: IfcKind):
        """What was measured off the solid, under the standard's names where it has one for that kind of piece."""

        def length(name, v):
            return self.add("QuantityLength", name, None, None, float(v))

        def area(name, v):
            return self.add("QuantityArea", name, None, None, v / 144)

        rest = [
            self.add("QuantityVolume", "NetVolume", None, None, m.volume / 1728),
            self.add("QuantityWeight", "NetWeight", None, None, weight(m.stock, m.volume)),
        ]
        if k.entity == "Footing":
            x, y, z = (m.box[1] - m.box[0]).tolist()
            rest = [
                length("Length", max(x, y)),
                length("Width", min(x, y)),
                length("Height", z),
                area("GrossSurfaceArea", m.sizes.surface),
                *rest,
            ]
        elif k.entity == "Slab":
            rest = [
                length("Length", m.length),
                length("Width", m.width),
                length("Depth", m.thickness),
                area("NetArea", m.top_area),
                *rest,
            ]
        elif k.entity in ("Beam", "Column", "Member"):
            rest = [length("Length", m.length), area("NetSurfaceArea", m.sizes.surface), *rest]
        else:  # the standard's set for coverings has neither length nor weight, and accessories have none
            rest = [
                length("Length", m.length),
                length("Width", m.width),
                length("Depth", m.thickness),
                area("NetSurfaceArea", m.sizes.surface),
                *rest,
            ]
        name = k.quantities if k.entity not in ("Covering", "DiscreteAccessory") else "Plumbcut_Quantities"
        return self.root(
            "ElementQuantity", f"{m.mark} measured", name, MethodOfMeasurement="measured off the solid", Quantities=rest
        )

    def _cut(self, m: Measured):
        def one(name, kind, v):
            return self.add("PropertySingleValue", name, None, self.add(kind, v), None)

        values = [
            one("Mark", "Identifier", m.mark),
            one("Stock", "Label", m.stock.name),
            one("Long point", "LengthMeasure", float(m.long_point)),
            one("Short point", "LengthMeasure", float(m.short_point)),
        ]
        for cut in m.ends:
            values += [
                one(f"End {cut.end} mitre, degrees", "Real", round(float(cut.mitre), 6) + 0.0),
                one(f"End {cut.end} bevel, degrees", "Real", round(float(cut.bevel), 6) + 0.0),
            ]
        return self.root("PropertySet", f"{m.mark} cut", "Plumbcut_Cut", HasProperties=values)

    # what belongs together

    def _assemblies(self, whole: Sequence[Assembly]) -> None:
        """Stairs, flights, landings and railings: products without a shape of their own, made of their pieces."""
        for a in whole:  # a home comes before what is in it
            home = self.products[a.home] if a.home else self.storey
            self.products[a.key] = self.root(
                a.entity, a.key, a.name, ObjectPlacement=self.local(home), PredefinedType=a.type, **a.facts
            )

    def _inside(self, whole: Sequence[Assembly], homes: dict[str, Assembly]) -> None:
        for a in whole:
            made_of = [self.products[b.key] for b in whole if b.home == a.key] + [self.products[i] for i in a.pieces]
            self.root("RelAggregates", f"parts of {a.key}", RelatingObject=self.products[a.key], RelatedObjects=made_of)
        loose = [self.products[a.key] for a in whole if not a.home] + [
            self.products[m.id] for m in self.measured if m.id not in homes
        ]
        self.root("RelContainedInSpatialStructure", "deck", RelatedElements=loose, RelatingStructure=self.storey)

    def _materials(self, marks: dict[str, list[Measured]], types: Sequence) -> None:
        heaps: dict[str, list] = {}
        for pieces, made in zip(marks.values(), types):
            heaps.setdefault(pieces[0].stock.material, []).extend([made, *(self.products[m.id] for m in pieces)])
        for name, things in heaps.items():
            self.root("RelAssociatesMaterial", name, RelatedObjects=things, RelatingMaterial=self.add("Material", name))

    def _carried(self) -> None:
        for m in self.measured:
            for carrier in m.carried_by:
                if carrier in self.products:
                    self.root(
                        "RelConnectsElements",
                        f"{carrier} carries {m.id}",
                        "carries",
                        RelatingElement=self.products[carrier],
                        RelatedElement=self.products[m.id],
                    )

    def _header(self, name: str) -> None:
        header = self.file.header
        header.file_description.description = ("ViewDefinition [DesignTransferView_V1.0]",)
        about = header.file_name
        about.name, about.time_stamp = name, _stamp(self.project.date)
        about.author, about.organization = (_plain(self.project.author),), ("",)
        about.originating_system, about.authorization = "plumbcut", _plain(self.project.approver)


def _stamp(text: str) -> str:
    """The file's own date of issue where it is one; never the clock."""
    try:
        return f"{date.fromisoformat(text.strip()).isoformat()}T00:00:00"
    except ValueError:
        return NO_DATE


def _plain(text: str) -> str:
    return re.sub(r"[^\x20-\x7e]", "?", text)
