//! Dimensions: what an amount measures, apart from any unit.
//!
//! Comes in: a type word of a blank. Goes out: the dimension, and how to speak of it. Units are in `unit`.

use serde::Serialize;

/// What an amount measures. The canonical unit of each is named beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub enum Dimension {
    /// metre
    Length,
    /// square metre
    Area,
    /// cubic metre
    Volume,
    /// kilogram
    Mass,
    /// degree Celsius, a point on the scale
    Temperature,
    /// kelvin, a difference between two temperatures
    TemperatureDifference,
    /// day (clock durations are fractions of a day: 90 min = 0.0625)
    Duration,
    /// metre per second
    Speed,
    /// kilogram of substance per kilogram of medium (1 ppb = 1e-9)
    MassFraction,
    /// siemens per metre (1 dS/m = 1 mS/cm = 0.1)
    Conductivity,
    /// a share of a whole, 1 = all (`40 %` = 0.4)
    Share,
    /// kilogram per cubic metre
    Density,
    /// kilogram per square metre (application and spawn rates)
    MassPerArea,
    /// cubic metre per cubic metre (`10 ml per litre`)
    VolumePerVolume,
    /// kilogram per kilogram and day (what breathes away from compost: 1 mg/g/day = 0.001)
    MassFractionPerTime,
    /// pH, a bare scale
    Acidity,
    /// money in whatever currency the farm writes
    Money,
}

impl Dimension {
    /// Every dimension, in order.
    pub const ALL: [Dimension; 17] = [
        Dimension::Length,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Mass,
        Dimension::Temperature,
        Dimension::TemperatureDifference,
        Dimension::Duration,
        Dimension::Speed,
        Dimension::MassFraction,
        Dimension::Conductivity,
        Dimension::Share,
        Dimension::Density,
        Dimension::MassPerArea,
        Dimension::VolumePerVolume,
        Dimension::MassFractionPerTime,
        Dimension::Acidity,
        Dimension::Money,
    ];

    /// The word for a blank's type (`{depth:length}`) and for messages.
    pub fn word(self) -> &'static str {
        match self {
            Dimension::Length => "length",
            Dimension::Area => "area",
            Dimension::Volume => "volume",
            Dimension::Mass => "mass",
            Dimension::Temperature => "temperature",
            Dimension::TemperatureDifference => "temperature difference",
            Dimension::Duration => "duration",
            Dimension::Speed => "speed",
            Dimension::MassFraction => "concentration",
            Dimension::Conductivity => "conductivity",
            Dimension::Share => "share",
            Dimension::Density => "density",
            Dimension::MassPerArea => "mass per area",
            Dimension::VolumePerVolume => "dilution",
            Dimension::MassFractionPerTime => "concentration per time",
            Dimension::Acidity => "acidity",
            Dimension::Money => "money",
        }
    }

    /// What such an amount looks like, for messages: `a length, as in 3 in`.
    pub fn example(self) -> &'static str {
        match self {
            Dimension::Length => "3 in",
            Dimension::Area => "120 ft2",
            Dimension::Volume => "6 yd3",
            Dimension::Mass => "40 lb",
            Dimension::Temperature | Dimension::TemperatureDifference => "65 C",
            Dimension::Duration => "90 min",
            Dimension::Speed => "8 mph",
            Dimension::MassFraction => "12 ppb",
            Dimension::Conductivity => "3.2 mS/cm",
            Dimension::Share => "40 %",
            Dimension::Density => "600 kg/m3",
            Dimension::MassPerArea => "2 lb/acre",
            Dimension::VolumePerVolume => "10 ml/l",
            Dimension::MassFractionPerTime => "4 mg/g/day",
            Dimension::Acidity => "7.2",
            Dimension::Money => "$40",
        }
    }

    /// The dimension a blank's type word names.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.word() == word)
    }
}
