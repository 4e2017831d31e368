//! Every figure the simulator rests on, in one place: how often each cause strikes, what its plants look
//! like and how long it takes to show; what two kinds of grower write down follows in `habits.rs`.
//!
//! Comes in: nothing. Goes out: tables. They were set before any run, from published facts and our
//! judgement, without sight of the rulebook's own tables of causes and questions, and are not to be fitted
//! to those: a simulator that copies the tables it tests can only praise them. The last column says which
//! published fact a row leans on; `J` is our judgement and nothing else.

use std::fmt;

/// What really ails the plants of a farm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Cause {
    Carryover,
    Drift,
    CarryoverAndDrift,
    OwnSpray,
    RawCompost,
    Salts,
    TieUp,
    Virus,
    Mites,
    Roll,
    Cold,
    Waterlogging,
    RootKnot,
    Heat,
    PoorSeed,
    Lack,
    Overfed,
    Gnawed,
    DampedOff,
    Wilt,
    Blight,
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Cause::Carryover => "carryover",
            Cause::Drift => "drift",
            Cause::CarryoverAndDrift => "carryover and drift",
            Cause::OwnSpray => "own spray",
            Cause::RawCompost => "raw compost",
            Cause::Salts => "salts",
            Cause::TieUp => "nitrogen tie-up",
            Cause::Virus => "virus",
            Cause::Mites => "mites",
            Cause::Roll => "physiological roll",
            Cause::Cold => "cold",
            Cause::Waterlogging => "waterlogging",
            Cause::RootKnot => "root knot",
            Cause::Heat => "else: heat",
            Cause::PoorSeed => "else: poor seed",
            Cause::Lack => "else: a nutrient lacks",
            Cause::Overfed => "else: fertiliser burn",
            Cause::Gnawed => "else: voles, wireworms",
            Cause::DampedOff => "else: damping off",
            Cause::Wilt => "else: fungal wilt",
            Cause::Blight => "else: blight",
        })
    }
}

/// Of 1,000 farms whose grower writes that plants look wrong, how many have each cause.
pub const INCIDENCE: &[(Cause, f64, &str)] = &[
    (
        Cause::Carryover,
        270.0,
        "about 80 % of 103 growth-regulator samples at one laboratory came by compost, manure or clippings (Montana State University, 2009-11): here 270 of 365; how many samples are growth regulators at all: J",
    ),
    (Cause::Drift, 60.0, "the rest of those samples: J"),
    (Cause::CarryoverAndDrift, 15.0, "J: a few"),
    (Cause::OwnSpray, 35.0, "J"),
    (Cause::RawCompost, 70.0, "J"),
    (Cause::Salts, 80.0, "J"),
    (Cause::TieUp, 75.0, "J"),
    (Cause::Virus, 85.0, "J"),
    (Cause::Mites, 50.0, "J"),
    (Cause::Roll, 50.0, "J"),
    (Cause::Cold, 55.0, "J"),
    (Cause::Waterlogging, 35.0, "J"),
    (Cause::RootKnot, 25.0, "J"),
    (Cause::Heat, 15.0, "J: outside the causes the rulebook has, as are the rows below"),
    (Cause::PoorSeed, 10.0, "J"),
    (Cause::Lack, 20.0, "J"),
    (Cause::Overfed, 10.0, "J"),
    (Cause::Gnawed, 12.0, "J"),
    (Cause::DampedOff, 10.0, "J"),
    (Cause::Wilt, 10.0, "J"),
    (Cause::Blight, 8.0, "J"),
];

/// What is going on in a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Ill {
    AuxinFromSoil,
    AuxinFromAir,
    Bleacher,
    Burner,
    Raw,
    Salt,
    Starved,
    Virus,
    BroadMite,
    RussetMite,
    Roll,
    Chill,
    Frost,
    Wet,
    Galls,
    Heat,
    PoorSeed,
    NewLeavesLack,
    OldLeavesLack,
    Overfed,
    Gnawed,
    DampedOff,
    Wilt,
    Blight,
}

/// Where on the plant a sign stands, in the words of a diary; empty where growers do not say.
pub type Part = &'static str;
const NEW: Part = "new growth";
const OLD: Part = "old leaves";
const ROOTS: Part = "roots";
const FRUIT: Part = "fruit";
const NO: Part = "";

/// What it takes to see a sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// Walking past.
    Passing,
    /// On plants sown where they stand, while they are small.
    Emerging,
    /// Bending down.
    Close,
    /// Digging a plant up.
    Dug,
    /// With a lens.
    Lens,
}
use Seen::{Close, Dug, Emerging, Lens, Passing};

/// A sign: its word, in how many of 100 outbreaks of the kind it is there to be seen, where, and how.
pub type Sign = (&'static str, f64, Part, Seen);

/// What the plants of each ill look like, and what that leans on. All figures: J.
pub const SIGNS: &[(Ill, &[Sign], &str)] = &[
    (
        Ill::AuxinFromSoil,
        &[
            ("cupped leaves", 75.0, NEW, Passing),
            ("twisted stems", 50.0, NO, Passing),
            ("fern leaf", 30.0, NEW, Passing),
            ("distorted tips", 40.0, NEW, Passing),
            ("twisted leaves", 40.0, NEW, Passing),
            ("curled leaves", 35.0, NEW, Passing),
            ("strap leaves", 20.0, NEW, Passing),
            ("leaves drawn down", 15.0, NO, Passing),
            ("pale new growth", 15.0, NEW, Passing),
            ("stunting", 40.0, NO, Passing),
            ("stalled growth", 30.0, NO, Passing),
            ("poor germination", 30.0, NO, Emerging),
            ("twisted seedlings", 40.0, NO, Emerging),
            ("prominent veins", 25.0, NEW, Close),
            ("thick stems", 10.0, NO, Close),
            ("misshapen fruit", 10.0, FRUIT, Passing),
            ("few fruit", 15.0, NO, Passing),
            ("stubby roots", 30.0, ROOTS, Dug),
        ],
        "NC State AG-727; RHS profile 477; Oregon State 2011; stubby roots from memory",
    ),
    (
        Ill::AuxinFromAir,
        &[
            ("twisted stems", 60.0, NO, Passing),
            ("cupped leaves", 55.0, NEW, Passing),
            ("leaves drawn down", 40.0, NO, Passing),
            ("curled leaves", 40.0, NEW, Passing),
            ("twisted leaves", 45.0, NEW, Passing),
            ("strap leaves", 20.0, NEW, Passing),
            ("fern leaf", 15.0, NEW, Passing),
            ("distorted tips", 30.0, NEW, Passing),
            ("drooping leaves", 15.0, NO, Passing),
            ("stalled growth", 20.0, NO, Passing),
            ("prominent veins", 20.0, NEW, Close),
            ("split stems", 10.0, NO, Close),
        ],
        "University of Manitoba inquiry 757 (downward curl, twist, light veins, split stems)",
    ),
    (
        Ill::Bleacher,
        &[
            ("yellow leaf bases", 45.0, NEW, Close),
            ("pale new growth", 60.0, NEW, Passing),
            ("yellow leaves", 45.0, NEW, Passing),
            ("stalled growth", 50.0, NO, Passing),
            ("strap leaves", 15.0, NEW, Passing),
            ("dead tips", 20.0, NO, Passing),
        ],
        "NC State: yellow or bleached bases of new leaflets after glyphosate; grasses hurt, from memory",
    ),
    (
        Ill::Burner,
        &[
            ("scorched edges", 70.0, NO, Passing),
            ("leaf spots", 50.0, NO, Passing),
            ("leaf drop", 20.0, NO, Passing),
            ("curled leaves", 15.0, NO, Passing),
        ],
        "J",
    ),
    (
        Ill::Raw,
        &[
            ("poor germination", 60.0, NO, Emerging),
            ("uneven germination", 40.0, NO, Emerging),
            ("slow germination", 30.0, NO, Emerging),
            ("dead seedlings", 25.0, NO, Emerging),
            ("stunting", 45.0, NO, Passing),
            ("stalled growth", 40.0, NO, Passing),
            ("yellow leaves", 50.0, NO, Passing),
            ("pale plants", 35.0, NO, Passing),
            ("scorched edges", 20.0, NO, Passing),
            ("wilting", 15.0, NO, Passing),
            ("brown roots", 50.0, ROOTS, Dug),
            ("few roots", 30.0, ROOTS, Dug),
        ],
        "CCQC 2001; all kinds slow and yellow, poor germination, no cupping",
    ),
    (
        Ill::Salt,
        &[
            ("scorched edges", 65.0, OLD, Passing),
            ("wilting in wet soil", 30.0, NO, Passing),
            ("wilting", 25.0, NO, Passing),
            ("stunting", 45.0, NO, Passing),
            ("poor germination", 55.0, NO, Emerging),
            ("slow germination", 35.0, NO, Emerging),
            ("dead seedlings", 20.0, NO, Emerging),
            ("small leaves", 15.0, NO, Passing),
            ("few roots", 25.0, ROOTS, Dug),
            ("brown roots", 20.0, ROOTS, Dug),
        ],
        "tip and edge burn, wilt when moist, poor germination: from memory in every source read",
    ),
    (
        Ill::Starved,
        &[
            ("yellow old leaves", 60.0, OLD, Passing),
            ("pale plants", 60.0, NO, Passing),
            ("yellow leaves", 35.0, OLD, Passing),
            ("stunting", 45.0, NO, Passing),
            ("stalled growth", 35.0, NO, Passing),
            ("small leaves", 20.0, NO, Passing),
            ("leggy growth", 15.0, NO, Passing),
        ],
        "even pale yellow, old leaves first, no twisting: from memory",
    ),
    (
        Ill::Virus,
        &[
            ("mottled leaves", 75.0, NO, Passing),
            ("fern leaf", 30.0, NEW, Passing),
            ("curled leaves", 40.0, NEW, Passing),
            ("yellow leaves", 30.0, NO, Passing),
            ("stunting", 40.0, NO, Passing),
            ("bushy growth", 20.0, NO, Passing),
            ("cupped leaves", 15.0, NEW, Passing),
            ("small leaves", 20.0, NEW, Passing),
            ("dropped flowers", 15.0, NO, Passing),
            ("brown fruit", 15.0, FRUIT, Passing),
            ("ring spots", 15.0, NO, Close),
            ("whitefly", 20.0, NO, Close),
            ("aphids", 30.0, NO, Close),
        ],
        "UC IPM, University of Connecticut, NC State on mosaics and leaf-curl viruses",
    ),
    (
        Ill::BroadMite,
        &[
            ("distorted tips", 55.0, NEW, Passing),
            ("strap leaves", 35.0, NEW, Passing),
            ("curled leaves", 45.0, NEW, Passing),
            ("twisted leaves", 30.0, NEW, Passing),
            ("bronzed leaves", 40.0, NEW, Passing),
            ("stalled growth", 30.0, NO, Passing),
            ("dead tips", 20.0, NO, Passing),
            ("dropped flowers", 20.0, NO, Passing),
            ("rough fruit", 35.0, FRUIT, Passing),
            ("thick leaves", 35.0, NEW, Close),
            ("broad mites", 85.0, NEW, Lens),
        ],
        "Mississippi State Bug's-Eye View 16, 2016",
    ),
    (
        Ill::RussetMite,
        &[
            ("bronzed leaves", 70.0, OLD, Passing),
            ("yellow old leaves", 25.0, OLD, Passing),
            ("leaf drop", 30.0, NO, Passing),
            ("curled leaves", 30.0, OLD, Passing),
            ("scorched edges", 20.0, OLD, Passing),
            ("greasy stems", 50.0, NO, Close),
            ("russet mites", 85.0, NO, Lens),
        ],
        "a grower-supply handbook: starts low, moves up, bronzed greasy stems",
    ),
    (
        Ill::Roll,
        &[
            ("rolled leaves", 85.0, OLD, Passing),
            ("curled leaves", 30.0, OLD, Passing),
            ("thick leaves", 40.0, OLD, Close),
        ],
        "University of Manitoba inquiry 757: lower leaves, upward, still green, no fruit harm",
    ),
    (
        Ill::Chill,
        &[
            ("purple leaves", 55.0, NO, Passing),
            ("stalled growth", 55.0, NO, Passing),
            ("pale plants", 30.0, NO, Passing),
            ("yellow leaves", 20.0, NO, Passing),
            ("curled leaves", 20.0, NO, Passing),
            ("drooping leaves", 15.0, NO, Passing),
        ],
        "purpling, stalled, after dated low nights: from memory",
    ),
    (
        Ill::Frost,
        &[
            ("blackened leaves", 85.0, NO, Passing),
            ("dead tips", 35.0, NO, Passing),
            ("wilting", 30.0, NO, Passing),
            ("curled leaves", 20.0, NO, Passing),
            ("dead plants", 15.0, NO, Passing),
        ],
        "J",
    ),
    (
        Ill::Wet,
        &[
            ("sour wet soil", 50.0, NO, Passing),
            ("yellow old leaves", 40.0, OLD, Passing),
            ("yellow leaves", 25.0, NO, Passing),
            ("drooping leaves", 40.0, NO, Passing),
            ("wilting", 30.0, NO, Passing),
            ("leaves drawn down", 25.0, NO, Passing),
            ("stunting", 30.0, NO, Passing),
            ("brown roots", 60.0, ROOTS, Dug),
        ],
        "droop, downward bend, yellow low leaves, wet root smell, low spot: from memory",
    ),
    (
        Ill::Galls,
        &[
            ("wilting", 55.0, NO, Passing),
            ("stunting", 55.0, NO, Passing),
            ("yellow leaves", 35.0, NO, Passing),
            ("few fruit", 15.0, NO, Passing),
            ("root galls", 95.0, ROOTS, Dug),
        ],
        "galls on roots, midday wilt, patchy: from memory",
    ),
    (
        Ill::Heat,
        &[
            ("wilting", 60.0, NO, Passing),
            ("scorched edges", 40.0, NO, Passing),
            ("dropped flowers", 30.0, NO, Passing),
            ("rolled leaves", 20.0, NO, Passing),
            ("drooping leaves", 25.0, NO, Passing),
            ("bolting", 20.0, NO, Passing),
        ],
        "J",
    ),
    (
        Ill::PoorSeed,
        &[("poor germination", 85.0, NO, Emerging), ("uneven germination", 45.0, NO, Emerging)],
        "J",
    ),
    (
        Ill::NewLeavesLack,
        &[
            ("yellow between veins", 85.0, NEW, Passing),
            ("yellow leaves", 25.0, NEW, Passing),
            ("stunting", 20.0, NO, Passing),
        ],
        "NC State: a lack is even over the crop; iron shows on new leaves, from memory",
    ),
    (
        Ill::OldLeavesLack,
        &[
            ("yellow between veins", 80.0, OLD, Passing),
            ("scorched edges", 30.0, OLD, Passing),
            ("yellow old leaves", 30.0, OLD, Passing),
        ],
        "magnesium and potash show on old leaves: from memory",
    ),
    (
        Ill::Overfed,
        &[
            ("scorched edges", 75.0, NO, Passing),
            ("wilting", 35.0, NO, Passing),
            ("stunting", 15.0, NO, Passing),
            ("few roots", 30.0, ROOTS, Dug),
        ],
        "J: as salts, from the grower's own feed",
    ),
    (
        Ill::Gnawed,
        &[
            ("wilting", 50.0, NO, Passing),
            ("dead plants", 45.0, NO, Passing),
            ("stunting", 20.0, NO, Passing),
            ("mice", 30.0, NO, Close),
            ("wireworms", 45.0, ROOTS, Dug),
        ],
        "J",
    ),
    (
        Ill::DampedOff,
        &[
            ("damping off", 60.0, NO, Emerging),
            ("dead seedlings", 60.0, NO, Emerging),
            ("poor germination", 30.0, NO, Emerging),
        ],
        "J",
    ),
    (
        Ill::Wilt,
        &[
            ("wilting", 80.0, NO, Passing),
            ("yellow old leaves", 45.0, OLD, Passing),
            ("yellow leaves", 30.0, NO, Passing),
            ("dead plants", 25.0, NO, Passing),
        ],
        "J",
    ),
    (
        Ill::Blight,
        &[
            ("leaf spots", 65.0, NO, Passing),
            ("blight", 45.0, NO, Passing),
            ("dead plants", 15.0, NO, Passing),
        ],
        "J",
    ),
];

/// How sure a sign is to stand on one plant when its outbreak has it, and when it has not: what makes the
/// plants of one farm look alike. J.
pub const SHOWS_IF_ABOUT: f64 = 0.75;
/// See [`SHOWS_IF_ABOUT`].
pub const SHOWS_IF_NOT: f64 = 0.06;

/// Days until signs show: the middle, the spread (of the logarithm), the least and the most.
pub struct Lag(pub f64, pub f64, pub f64, pub f64);

/// Herbicide in the ground, after planting or spreading, whichever is later. Transplants one to three weeks
/// (from memory); pots in two to three weeks (NC State AG-727 as reprinted).
pub const LAG_SOIL: Lag = Lag(13.0, 0.4, 5.0, 40.0);
/// What a mulch of hay or straw adds: residue is let go as it rots (HSE). The days: J.
pub const LAG_MULCH: Lag = Lag(10.0, 0.5, 3.0, 40.0);
/// Spray in the air: hours to a few days (Ohio State and Purdue 2020).
pub const LAG_AIR: Lag = Lag(4.0, 0.5, 1.0, 12.0);
/// Salts, within days. J.
pub const LAG_SALT: Lag = Lag(8.0, 0.5, 2.0, 30.0);
/// Raw compost. J.
pub const LAG_RAW: Lag = Lag(9.0, 0.4, 3.0, 28.0);
/// Nitrogen tie-up: four to eight weeks in all (from memory), seen from the second week. J.
pub const LAG_STARVED: Lag = Lag(20.0, 0.35, 9.0, 50.0);
/// Emergence of seed. J.
pub const LAG_UP: Lag = Lag(9.0, 0.25, 5.0, 18.0);
/// Galls: worse with heat (from memory); the days: J.
pub const LAG_GALLS: Lag = Lag(42.0, 0.25, 25.0, 75.0);
