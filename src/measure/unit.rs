//! Dimensions and units: what an amount measures, and how people spell it.

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
    /// pH, a bare scale
    Acidity,
    /// money in whatever currency the farm writes
    Money,
}

/// A unit as people write it: `yd3`, `in`, `F`, `ppb`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Unit(pub &'static str);
