//! What a part says about itself, apart from its features.

use super::Shape::{
    Count, Counts, Grade, MaybeName, Name, Names, Number, Own, Quantity, Range, Size, Text, Told, Word,
};
use super::{Statement, flag, may, need, told};
use crate::model::after::After;
use crate::quantity::measure::Dimension as D;

const DEMAND: &[super::Clause] =
    &[may("to", Names, "the feature that it is measured against"), flag("material-condition", "at maximum material")];

const fn demand(word: &'static str, doc: &'static str, example: &'static str) -> Statement {
    Statement {
        word,
        head: Own("a feature and a length, such as `shank 0.01`"),
        clauses: DEMAND,
        repeats: true,
        doc,
        example,
    }
}

const fn plain(word: &'static str, head: super::Shape, doc: &'static str, example: &'static str) -> Statement {
    Statement { word, head, clauses: &[], repeats: false, doc, example }
}

pub(super) static STATEMENTS: &[Statement] = &[
    Statement {
        word: "material",
        head: Own("a material of the table or one declared"),
        clauses: &[
            may("certificate", Text, "the certificate that goes with it"),
            told("lot", Text, "lot demands"),
            flag("supplied", "the customer supplies the bar: it costs nothing"),
        ],
        repeats: false,
        doc: "what the part is made of: a key, standard number or other name of the material table, or a `material` declared in a spec",
        example: "material 42crmo4",
    },
    Statement {
        word: "stock",
        head: Own("a shape and a size, such as `round 20`"),
        clauses: &[
            may("grade", Grade, "IT grade of the bar"),
            may("bore", Quantity(D::LENGTH), "bore of a tube"),
            may("straightness", Quantity(D::SLOPE), "how straight the bar is"),
            flag("ground", "centreless ground"),
            flag("drawn", "cold drawn"),
            flag("peeled", "peeled or turned"),
            flag("coil", "wire from a coil, not straight bar"),
        ],
        repeats: false,
        doc: "the bar, where it is not left to be chosen: round, hex, square, tube or profile",
        example: "stock hex 24 h11 drawn",
    },
    plain("length", Size, "overall length", "length 28 ±0.1"),
    Statement {
        word: "order",
        head: Counts,
        clauses: &[flag("first", "it did not run before"), flag("repeat", "it ran before")],
        repeats: false,
        doc: "order quantities",
        example: "order 500, 2_000, 10_000 first",
    },
    Statement {
        word: "yearly",
        head: Count,
        clauses: &[may("in", Count, "lots a year"), flag("lots", "reads well"), flag("lot", "reads well")],
        repeats: false,
        doc: "pieces a year, and in how many lots",
        example: "yearly 24_000 in 12 lots",
    },
    plain("due", Text, "when it is wanted", "due 2027-03-01"),
    plain(
        "use",
        Word(&["general", "implant", "aerospace", "food"]),
        "what it is for: brings its cautions",
        "use implant",
    ),
    Statement {
        word: "validated",
        head: Own("nothing"),
        clauses: &[
            need("on", Names, "the machines on which its process was validated"),
            may("mode", Word(&["guided", "collet", "supported"]), "the way of holding that was validated"),
            may("moving", Quantity(D::MONEY), "what moving it elsewhere costs: validation runs, approval"),
            may("takes", Quantity(D::TIME), "how long moving it takes"),
        ],
        repeats: false,
        doc: "a frozen process: it runs only there, unless moving it is priced and timed",
        example: "validated on tilt-32 mode guided moving 12_000 EUR takes 16 weeks",
    },
    plain(
        "general",
        Own("`iso-2768-m`, or `two-place ±0.01, three-place ±0.005, angle ±1 deg`"),
        "the general tolerance of every size without one of its own",
        "general iso-2768-m",
    ),
    plain("certificate", Text, "the certificate that goes with it", "certificate EN-10204-3.1"),
    Statement {
        word: "pin",
        head: Word(&["front", "back"]),
        clauses: &[flag("first", "made first")],
        repeats: false,
        doc: "fixes which end is made first",
        example: "pin front first",
    },
    demand("roundness", "roundness after ISO 1101", "roundness shank 0.008"),
    demand("cylindricity", "cylindricity after ISO 1101", "cylindricity seat 4 um"),
    demand("straightness", "straightness after ISO 1101", "straightness shank 0.02"),
    demand("flatness", "flatness after ISO 1101", "flatness face 0.02"),
    demand("runout", "circular runout after ISO 1101", "runout land-3 to land-1 0.008"),
    demand("total-runout", "total runout after ISO 1101", "total-runout od to bore 0.01"),
    demand("concentricity", "coaxiality after ISO 1101", "concentricity bore to od 0.02"),
    demand("position", "position after ISO 1101", "position cam to journal 0.02"),
    demand("parallel", "parallelism after ISO 1101", "parallel flat-a to flat-b 0.02"),
    demand("square-to", "perpendicularity after ISO 1101", "square-to face to od 0.01"),
    demand("symmetry", "symmetry after ISO 1101", "symmetry key to seat 0.05"),
    demand("profile", "profile of a surface after ISO 1101", "profile saddle 0.1"),
    Statement {
        word: "key",
        head: Name,
        clauses: &[need("cpk", Number, "capability wanted")],
        repeats: true,
        doc: "a key characteristic with a capability of its own",
        example: "key od cpk 1.67",
    },
    Statement {
        word: "after",
        head: Word(After::PROCESSES),
        clauses: &[
            may("on", Names, "the features meant"),
            may("leaving", Quantity(D::LENGTH), "stock left for it"),
            told("hardness", Range(D::HARDNESS_HRC), "hardness reached"),
            told("depth", Quantity(D::LENGTH), "depth of the layer"),
            told("note", Text, "what else to know"),
            may("sizes", Word(&["before", "after"]), "the drawing's sizes hold before or after it"),
        ],
        repeats: true,
        doc: "a step after the machine, and whether the drawing's sizes hold before or after it",
        example: "after coat leaving 0.003 sizes before",
    },
    Statement {
        word: "first-article",
        head: Word(&["full", "keys"]),
        clauses: &[flag("report", "a report goes with the parts")],
        repeats: false,
        doc: "what the first piece is measured for: every dimension, or the key characteristics",
        example: "first-article full report",
    },
    plain("sample", Told, "how many pieces of a lot are inspected", "sample \"AQL 0.65\""),
    Statement {
        word: "note",
        head: Told,
        clauses: &[],
        repeats: true,
        doc: "words for the reader; nothing is reckoned from them",
        example: "note \"pack in trays\"",
    },
];

pub(super) static MATERIAL: &[Statement] = &[
    plain("density", Number, "kg/m3", "density 8250"),
    plain("modulus", Number, "modulus of elasticity, GPa", "modulus 131"),
    Statement {
        word: "cutting-force",
        head: Number,
        clauses: &[need("exponent", Number, "the exponent mc"), may("high", Number, "the cautious end")],
        repeats: false,
        doc: "specific cutting force at 1 mm x 1 mm, N/mm2, and its exponent",
        example: "cutting-force 1100 exponent 0.24",
    },
    plain("turning", Quantity(D::VELOCITY), "turning speed with carbide", "turning 120 m/min"),
    plain("drilling", Quantity(D::VELOCITY), "drilling speed with carbide", "drilling 60 m/min"),
    plain("group", Word(&["P", "M", "K", "N", "S", "H"]), "ISO 513 letter", "group N"),
    plain("family", Text, "the family in words", "family \"copper alloy\""),
    plain("price", Quantity(D::MASS_PRICE), "price of drawn bar", "price 28 EUR/kg"),
    plain("like", MaybeName, "a material of the table that gives what is not stated here", "like cube2"),
    Statement {
        word: "hazard",
        head: Names,
        clauses: &[],
        repeats: false,
        doc: "what it can do to people: titanium-chips, magnesium-chips, beryllium, lead, long-chips …",
        example: "hazard beryllium",
    },
];
