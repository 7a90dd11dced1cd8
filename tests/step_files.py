"""STEP files written by hand after ISO 10303-21 and -214: a box and a cylinder of the sizes asked for."""

HEAD = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('part','2027-01-04T12:00:00',(''),(''),'','','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));
ENDSEC;
DATA;
#1=APPLICATION_CONTEXT('');
#2=APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#1);
#3=PRODUCT_CONTEXT('',#1,'mechanical');
#4=PRODUCT('part','part','',(#3));
#5=PRODUCT_DEFINITION_FORMATION('','',#4);
#6=PRODUCT_DEFINITION_CONTEXT('part definition',#1,'design');
#7=PRODUCT_DEFINITION('design','',#5,#6);
#8=PRODUCT_DEFINITION_SHAPE('','',#7);
#9=SHAPE_DEFINITION_REPRESENTATION(#8,#20);
#10=(LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.));
#11=(NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.));
#12=(NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT());
#13=UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),#10,'distance_accuracy_value','');
#14=(GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#13))
GLOBAL_UNIT_ASSIGNED_CONTEXT((#10,#11,#12)) REPRESENTATION_CONTEXT('',''));
#15=CARTESIAN_POINT('',(0.,0.,0.));
#16=DIRECTION('',(0.,0.,1.));
#17=DIRECTION('',(1.,0.,0.));
#18=AXIS2_PLACEMENT_3D('',#15,#16,#17);
#20=ADVANCED_BREP_SHAPE_REPRESENTATION('',(#18,#21),#14);
"""
TAIL = "ENDSEC;\nEND-ISO-10303-21;\n"


class _Lines:
    """Entities as they are added, each with a number."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def add(self, words: str) -> int:
        number = 100 + len(self.lines)
        self.lines.append(f"#{number}={words};")
        return number

    def point(self, at: tuple[float, ...]) -> int:
        return self.add(f"CARTESIAN_POINT('',({','.join(f'{value:.9f}' for value in at)}))")

    def direction(self, way: tuple[float, ...]) -> int:
        return self.add(f"DIRECTION('',({','.join(f'{value:.9f}' for value in way)}))")

    def frame(self, at: tuple[float, ...], axis: tuple[float, ...], across: tuple[float, ...]) -> int:
        return self.add(f"AXIS2_PLACEMENT_3D('',#{self.point(at)},#{self.direction(axis)},#{self.direction(across)})")

    def vertex(self, at: tuple[float, ...]) -> int:
        return self.add(f"VERTEX_POINT('',#{self.point(at)})")

    def circle(self, z: float, radius: float, vertex: int) -> int:
        curve = self.add(f"CIRCLE('',#{self.frame((0, 0, z), (0, 0, 1), (1, 0, 0))},{radius:.9f})")
        return self.add(f"EDGE_CURVE('',#{vertex},#{vertex},#{curve},.T.)")

    def straight(self, a: tuple[float, ...], b: tuple[float, ...], start: int, end: int) -> int:
        length = sum((q - p) ** 2 for p, q in zip(a, b, strict=True)) ** 0.5
        way = self.direction(tuple((q - p) / length for p, q in zip(a, b, strict=True)))
        vector = self.add(f"VECTOR('',#{way},{length:.9f})")
        line = self.add(f"LINE('',#{self.point(a)},#{vector})")
        return self.add(f"EDGE_CURVE('',#{start},#{end},#{line},.T.)")

    def face(self, surface: int, edges: list[tuple[int, bool]]) -> int:
        turned = [self.add(f"ORIENTED_EDGE('',*,*,#{edge},.{'T' if way else 'F'}.)") for edge, way in edges]
        loop = self.add(f"EDGE_LOOP('',({','.join(f'#{one}' for one in turned)}))")
        bound = self.add(f"FACE_BOUND('',#{loop},.T.)")
        return self.add(f"ADVANCED_FACE('',(#{bound}),#{surface},.T.)")

    def text(self, faces: list[int]) -> bytes:
        shell = self.add(f"CLOSED_SHELL('',({','.join(f'#{one}' for one in faces)}))")
        solid = f"#21=MANIFOLD_SOLID_BREP('part',#{shell});\n"
        return (HEAD + solid + "\n".join(self.lines) + "\n" + TAIL).encode()


def cylinder_step(*, radius: float, height: float) -> bytes:
    """An upright cylinder on the origin, mm."""
    made = _Lines()
    low, high = (radius, 0.0, 0.0), (radius, 0.0, height)
    start, end = made.vertex(low), made.vertex(high)
    foot, top, side = (
        made.circle(0.0, radius, start),
        made.circle(height, radius, end),
        made.straight(low, high, start, end),
    )
    wall = made.add(f"CYLINDRICAL_SURFACE('',#{made.frame((0, 0, 0), (0, 0, 1), (1, 0, 0))},{radius:.9f})")
    below = made.add(f"PLANE('',#{made.frame((0, 0, 0), (0, 0, -1), (1, 0, 0))})")
    above = made.add(f"PLANE('',#{made.frame((0, 0, height), (0, 0, 1), (1, 0, 0))})")
    faces = [
        made.face(wall, [(foot, True), (side, True), (top, False), (side, False)]),
        made.face(below, [(foot, False)]),
        made.face(above, [(top, True)]),
    ]
    return made.text(faces)


def box_step(*, size: tuple[float, float, float]) -> bytes:
    """A box from the origin on, mm."""
    made = _Lines()
    corners = [tuple(size[k] * ((n >> k) & 1) for k in range(3)) for n in range(8)]
    vertices = [made.vertex(corner) for corner in corners]
    edges: dict[tuple[int, int], int] = {}
    for a in range(8):
        for k in range(3):
            b = a | (1 << k)
            if a != b:
                edges[a, b] = made.straight(corners[a], corners[b], vertices[a], vertices[b])
    faces = []
    for loop, normal in (
        ((0, 2, 3, 1), (0, 0, -1)), ((4, 5, 7, 6), (0, 0, 1)), ((0, 1, 5, 4), (0, -1, 0)),
        ((2, 6, 7, 3), (0, 1, 0)), ((0, 4, 6, 2), (-1, 0, 0)), ((1, 3, 7, 5), (1, 0, 0)),
    ):  # fmt: skip
        across = tuple((q - p) for p, q in zip(corners[loop[0]], corners[loop[1]], strict=True))
        length = sum(value**2 for value in across) ** 0.5
        plane = made.frame(corners[loop[0]], normal, tuple(value / length for value in across))
        ways = [(min(a, b), max(a, b), a < b) for a, b in zip(loop, (*loop[1:], loop[0]), strict=True)]
        faces.append(made.face(made.add(f"PLANE('',#{plane})"), [(edges[a, b], way) for a, b, way in ways]))
    return made.text(faces)
