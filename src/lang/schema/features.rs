//! What a part is made of: the kinds of features.

use super::Shape::{Count, Finish, MaybeName, Names, Own, Quantity, Size, SizePair, Text, Word, Zone};
use super::{Clause, Statement, flag, may, need, told};
use crate::quantity::measure::Dimension as D;

const ENDS: super::Shape = Word(&["front", "back"]);
const FROM: Clause = may("from", ENDS, "the face that depths are measured from, and that it opens to");
const MADE: Clause = may("made", Own("`from front` or `from back`"), "the side that the tool comes from");
const FINISH: Clause = may("finish", Finish, "roughness, Ra unless Rz is written");
const CLOCK: Clause = may("clock", Quantity(D::ANGLE), "clock position around the axis");
const COUNT: Clause = may("count", Count, "how many, evenly round the part");
const OUTSIDE: Clause = flag("outside", "on the outer contour");
const INSIDE: Clause = flag("inside", "in a bore");

const fn feature(
    word: &'static str,
    clauses: &'static [Clause],
    doc: &'static str,
    example: &'static str,
) -> Statement {
    Statement { word, head: MaybeName, clauses, repeats: true, doc, example }
}

pub(super) static STATEMENTS: &[Statement] = &[
    Statement {
        word: "face",
        head: ENDS,
        clauses: &[FINISH],
        repeats: true,
        doc: "an end face with a finish of its own",
        example: "face front finish 1.6 um",
    },
    feature(
        "turn",
        &[
            need("dia", Size, "diameter"),
            need("z", Zone, "from where to where"),
            FINISH,
            flag("as-stock", "left as the bar was bought"),
            may("offset", Size, "an eccentric: distance of its axis from the part's"),
            CLOCK,
        ],
        "a cylinder",
        "turn shank dia 5.5 h8 z 3.4 .. 25 finish 0.8 um",
    ),
    feature(
        "taper",
        &[
            need("dia", SizePair, "diameter at the start and at the end of the stretch"),
            need("z", Zone, "from where to where"),
            FINISH,
            flag("internal", "in a bore"),
            OUTSIDE,
        ],
        "a cone",
        "taper tip dia 5.5 .. 2.6 z 25 .. 28",
    ),
    feature(
        "sphere",
        &[need("dia", Size, "diameter"), need("z", Zone, "from where to where"), FINISH],
        "a ball end or spherical under-surface",
        "sphere head dia 6 z 0 .. 2.4",
    ),
    Statement {
        word: "radius",
        head: Own("a radius"),
        clauses: &[need("at", Quantity(D::LENGTH), "where"), OUTSIDE, INSIDE],
        repeats: true,
        doc: "a rounded corner",
        example: "radius 0.3 at 12 outside",
    },
    Statement {
        word: "chamfer",
        head: Own("a size such as `0.2 x 45 deg`"),
        clauses: &[need("at", Quantity(D::LENGTH), "where"), OUTSIDE, INSIDE],
        repeats: true,
        doc: "a chamfer: its length along z and its angle to the axis",
        example: "chamfer 0.2 x 45 deg at 0 outside",
    },
    feature(
        "groove",
        &[
            may("dia", Size, "diameter of its bottom; of a face groove the smaller diameter"),
            may("outer", Size, "a face groove's larger diameter"),
            may("z", Zone, "from where to where"),
            may("at", Quantity(D::LENGTH), "its left side"),
            may("width", Size, "its width"),
            may("depth", Quantity(D::LENGTH), "depth of a face groove"),
            flag("internal", "in a bore"),
            may("face", ENDS, "in an end face"),
            may("radius", Quantity(D::LENGTH), "radius at its bottom"),
            FINISH,
        ],
        "a groove: external, internal or in a face",
        "groove o-ring dia 12.1 z 4 .. 6.6 finish Rz 6.3 um",
    ),
    feature(
        "undercut",
        &[
            may("dia", Size, "diameter of its bottom"),
            may("z", Zone, "from where to where"),
            may("form", Text, "form of a standard"),
            flag("internal", "in a bore"),
        ],
        "a relief for a thread or a grinding wheel",
        "undercut dia 0.93 z 0.37 .. 0.45",
    ),
    feature(
        "knurl",
        &[
            need("pitch", Quantity(D::LENGTH), "pitch"),
            need("z", Zone, "from where to where"),
            may("form", Text, "form after DIN 82"),
        ],
        "a knurl",
        "knurl grip pitch 0.5 z 2 .. 8 form RAA",
    ),
    Statement {
        word: "thread",
        head: Own("a name, a designation such as `M4 x 0.7 6H`, or both"),
        clauses: &[
            may("form", Own("`HA`, `HB` or `profile`"), "a form whose sizes are given"),
            may("major", Quantity(D::LENGTH), "outer diameter"),
            may("core", Quantity(D::LENGTH), "root diameter"),
            may("pitch", Quantity(D::LENGTH), "pitch"),
            may("flanks", Quantity(D::ANGLE), "included angle between the flanks"),
            may("starts", Count, "number of starts"),
            may("lead", Quantity(D::LENGTH), "advance a turn, instead of starts"),
            may("hand", Word(&["left", "right"]), "its hand"),
            may("z", Zone, "from where to where"),
            may("depth", Quantity(D::LENGTH), "full thread from the face"),
            FROM,
            MADE,
            flag("internal", "in a bore"),
            flag("external", "on the outside"),
            flag("rolled", "rolled, not cut"),
            told("relief", Text, "relief of a standard"),
            told("gauge", Size, "gauge length of a taper thread"),
        ],
        repeats: true,
        doc: "a thread; without a turn beneath it makes its own blank",
        example: "thread mount 1-20 UNEF 2A z 0.45 .. 0.9",
    },
    feature(
        "bore",
        &[
            need("dia", Size, "diameter"),
            may("depth", Size, "how deep, from the face"),
            may("z", Zone, "a step of it: from where to where"),
            flag("through", "through the whole part"),
            FROM,
            MADE,
            flag("flat-bottom", "flat at its end"),
            FINISH,
        ],
        "an axial bore, or one step of it",
        "bore cannula dia 1.6 H9 through",
    ),
    feature(
        "hole",
        &[
            need("dia", Size, "diameter"),
            may("at", Size, "where its axis meets the surface"),
            need("angle", Own("an angle with its tolerance"), "between its axis and the part's"),
            may("opens", ENDS, "to which end its mouth leans; of an end hole, the face"),
            CLOCK,
            COUNT,
            may("offset", Quantity(D::LENGTH), "distance of its axis from a plane through the part's axis"),
            may("into", Names, "the bore or groove in which it ends"),
            flag("through", "through the whole part"),
            may("depth", Size, "depth along its axis"),
            may("on", Own("`circle D`"), "pitch circle of end holes"),
            MADE,
            FINISH,
        ],
        "a hole off the axis: across, at an angle, or in an end face (`angle 0 deg on circle 30`)",
        "hole eyelet dia 1.2 ±0.03 at 1.6 angle 35 deg opens front into cannula count 2",
    ),
    feature(
        "slot",
        &[
            need("width", Size, "width"),
            need("depth", Quantity(D::LENGTH), "depth"),
            may("z", Zone, "from where to where"),
            may("end", ENDS, "cut into this end face"),
            CLOCK,
            COUNT,
            FINISH,
        ],
        "a milled or sawn slot",
        "slot contact width 0.15 depth 4 end front",
    ),
    feature(
        "keyway",
        &[
            need("width", Size, "width"),
            need("depth", Quantity(D::LENGTH), "depth"),
            need("z", Zone, "from where to where"),
            CLOCK,
        ],
        "a keyway with closed ends",
        "keyway key width 3 P9 depth 1.8 z 20 .. 32",
    ),
    feature(
        "flat",
        &[
            may("from-axis", Size, "from the part's axis"),
            may("across", Size, "across two of them"),
            need("z", Zone, "from where to where"),
            CLOCK,
            COUNT,
            FINISH,
        ],
        "a flat, or several",
        "flat wrench across 8 z 4 .. 9 count 2",
    ),
    feature(
        "hex",
        &[
            may("across", Size, "across flats"),
            need("z", Zone, "from where to where"),
            flag("as-stock", "the bar's own flats"),
            may("corners", Word(&["cut", "kept"]), "corners turned off by the cylinder beneath"),
            told("bevel", Quantity(D::ANGLE), "bevel of its corners"),
            told("to", Size, "diameter at the end of the bevel"),
        ],
        "a hexagon",
        "hex flats across 1.125 z 0 .. 0.3 corners cut",
    ),
    feature(
        "square",
        &[
            may("across", Size, "across flats"),
            need("z", Zone, "from where to where"),
            flag("as-stock", "the bar's own flats"),
            may("corners", Word(&["cut", "kept"]), "corners turned off by the cylinder beneath"),
        ],
        "a square",
        "square drive across 6 h11 z 0 .. 8 corners cut",
    ),
    feature(
        "socket",
        &[
            may("hex", Size, "hexagon, across flats"),
            may("hexalobe", Count, "size number after ISO 10664"),
            may("slot", Size, "slot, width"),
            may("cross", Count, "cross recess, size number after ISO 4757"),
            need("depth", Quantity(D::LENGTH), "depth"),
            FROM,
            MADE,
            told("bottom", Quantity(D::ANGLE), "angle of its bottom"),
        ],
        "a drive in an end face",
        "socket drive hexalobe 15 depth 2.2 from front",
    ),
    feature(
        "contour",
        &[
            need("area", Quantity(D::AREA), "surface to be milled"),
            need("scallop", Quantity(D::LENGTH), "height of the ridges between rows"),
            may("axes", Count, "axes that move at once"),
            need("z", Zone, "from where to where"),
            may("depth", Quantity(D::LENGTH), "deepest cut below the turned surface"),
        ],
        "a sculpted surface",
        "contour saddle area 180 mm2 scallop 5 um axes 5 z 0 .. 8 depth 1.5",
    ),
    Statement {
        word: "engrave",
        head: Text,
        clauses: &[
            need("height", Quantity(D::LENGTH), "height of the letters"),
            may("depth", Quantity(D::LENGTH), "depth"),
            need("at", Quantity(D::LENGTH), "where"),
        ],
        repeats: true,
        doc: "engraved text",
        example: "engrave \"A1\" height 1.5 depth 0.1 at 4",
    },
    Statement {
        word: "edges",
        head: Names,
        clauses: &[
            may("sharp", Own("a limit such as `.. 0.02`"), "left sharp, to ISO 13715"),
            may("break", Own("a limit such as `.. 0.1`"), "broken"),
            may("radius", Own("a limit such as `.. 0.1`"), "rounded"),
        ],
        repeats: true,
        doc: "what happens to edges",
        example: "edges all break .. 0.1",
    },
];
