//! What two kinds of grower do and write down: the second half of the simulator's figures.
//!
//! Comes in: nothing. Goes out: chances, all our judgement, set before any run like those in `figures.rs` and
//! not to be fitted to the rulebook either.

/// What a kind of grower does, each as a chance out of 1 unless said. All J, but for what stands beside.
#[derive(Debug, Clone, Copy)]
pub struct Habits {
    /// Days between looks at the beds, on average.
    pub days_between_looks: f64,
    /// How many looks after the first sign are written down, at most.
    pub looks_written: (i64, i64),
    /// Loads that come in are written, with a name of their own.
    pub lot: f64,
    /// Each spreading is written.
    pub spreading: f64,
    /// A depth is written with it.
    pub depth: f64,
    /// Each planting is written.
    pub planting: f64,
    /// Sound plants are written down as sound, each on a look.
    pub sound: f64,
    /// The corn and the grasses among them, if there are any.
    pub grasses: f64,
    /// Where on the plant.
    pub part: f64,
    /// How many plants of how many.
    pub count: f64,
    /// How badly.
    pub severity: f64,
    /// The sign is called what it is.
    pub right_word: f64,
    /// The crop is named with the sign.
    pub crop: f64,
    /// How many signs of a plant are written at once, at most.
    pub signs: (i64, i64),
    /// A neighbour's spraying is seen at all.
    pub spraying: f64,
    /// The wind is written with it.
    pub wind: f64,
    /// One's own sprayings are written.
    pub own: f64,
    /// A bean test of a load that is suspected.
    pub beans: f64,
    /// With a control.
    pub control: f64,
    /// Corn potted beside it.
    pub corn: f64,
    /// A meter in the ground or the load, when growth is poor.
    pub meter: f64,
    /// With the method.
    pub method: f64,
    /// A plant is dug up and its roots looked at.
    pub roots: f64,
    /// A lens, when tips are odd or leaves are bronzed.
    pub lens: f64,
    /// How a load smells, or how hot it is.
    pub smell: f64,
    /// Frost, cold and heavy rain.
    pub weather: f64,
    /// A sample for a laboratory.
    pub laboratory: f64,
    /// The day is known no better than to a week or so.
    pub vague_day: f64,
    /// A word other than the table's first is used.
    pub other_words: f64,
}

/// A grower who looks closely and writes it down.
pub const ATTENTIVE: Habits = Habits {
    days_between_looks: 2.5,
    looks_written: (3, 6),
    lot: 1.0,
    spreading: 0.97,
    depth: 0.85,
    planting: 0.95,
    sound: 0.75,
    grasses: 0.9,
    part: 0.85,
    count: 0.65,
    severity: 0.6,
    right_word: 0.93,
    crop: 1.0,
    signs: (1, 3),
    spraying: 0.7,
    wind: 0.9,
    own: 0.95,
    beans: 0.75,
    control: 1.0,
    corn: 0.2,
    meter: 0.5,
    method: 0.95,
    roots: 0.55,
    lens: 0.5,
    smell: 0.5,
    weather: 0.85,
    laboratory: 0.12,
    vague_day: 0.0,
    other_words: 0.3,
};

/// A grower with other things to do.
pub const CARELESS: Habits = Habits {
    days_between_looks: 7.0,
    looks_written: (1, 3),
    lot: 0.88,
    spreading: 0.85,
    depth: 0.35,
    planting: 0.5,
    sound: 0.06,
    grasses: 0.06,
    part: 0.25,
    count: 0.15,
    severity: 0.3,
    right_word: 0.75,
    crop: 0.88,
    signs: (1, 2),
    spraying: 0.35,
    wind: 0.25,
    own: 0.5,
    beans: 0.12,
    control: 0.5,
    corn: 0.0,
    meter: 0.05,
    method: 0.6,
    roots: 0.08,
    lens: 0.03,
    smell: 0.1,
    weather: 0.3,
    laboratory: 0.02,
    vague_day: 0.2,
    other_words: 0.45,
};

/// How far one grower leans to more or fewer of all of these: the spread of a shift in log odds. J.
pub const TENDENCY: f64 = 0.5;

/// Which signs are written for which by somebody who does not look closely. J.
pub const CONFUSED: &[(&str, &[&str])] = &[
    ("cupped leaves", &["curled leaves", "rolled leaves", "twisted leaves"]),
    ("twisted stems", &["leggy growth", "drooping leaves", "curled leaves"]),
    ("fern leaf", &["strap leaves", "small leaves", "mottled leaves"]),
    ("distorted tips", &["curled leaves", "stalled growth", "dead tips"]),
    ("twisted leaves", &["curled leaves", "small leaves"]),
    ("curled leaves", &["rolled leaves", "cupped leaves", "wilting"]),
    ("strap leaves", &["small leaves", "fern leaf"]),
    ("leaves drawn down", &["drooping leaves", "wilting", "curled leaves"]),
    ("rolled leaves", &["curled leaves", "cupped leaves"]),
    ("pale new growth", &["yellow leaves", "pale plants"]),
    ("mottled leaves", &["yellow leaves", "leaf spots", "yellow between veins"]),
    ("yellow old leaves", &["yellow leaves", "pale plants"]),
    ("yellow between veins", &["yellow leaves", "mottled leaves"]),
    ("scorched edges", &["leaf spots", "yellow leaves", "dead tips"]),
    ("bronzed leaves", &["leaf spots", "yellow leaves", "purple leaves"]),
    ("wilting", &["drooping leaves", "stunting"]),
    ("wilting in wet soil", &["wilting"]),
    ("drooping leaves", &["wilting", "curled leaves"]),
    ("purple leaves", &["bronzed leaves", "pale plants"]),
    ("blackened leaves", &["dead tips", "leaf spots", "wilting"]),
    ("twisted seedlings", &["poor germination", "stunting"]),
    ("poor germination", &["slow germination"]),
    ("pale plants", &["yellow leaves"]),
    ("damping off", &["dead seedlings", "poor germination"]),
];
