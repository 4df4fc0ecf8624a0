//! Why a wanted minute has no jet that counts.

/// Why a wanted minute went without a jet that counts. Each such minute has exactly one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// The pump is blocked (a fault asked for).
    Blocked,
    /// The basin is at its low-water mark.
    LowWater,
    /// The wind cut-off has stopped it.
    Wind,
    /// The battery was too cold to charge, and is now cut off.
    TooCold,
    /// The battery is cut off, or waits for its reconnect voltage.
    BatteryFlat,
    /// The mount stands where it should not, because its supply sank or it is stuck; aimed well the panel would have done.
    MountStarved,
    /// The skyline hides the sun; in the open the panel would have done.
    BehindSkyline,
    /// The pump pulses: on for too small a share of the minute.
    Pulsing,
    /// It runs, but below the wished height.
    TooLow,
    /// The panel gets too little light.
    TooLittleSun,
}

impl Cause {
    /// All, in the order in which the rule asks.
    pub const ALL: [Cause; 10] = [
        Cause::Blocked,
        Cause::LowWater,
        Cause::Wind,
        Cause::TooCold,
        Cause::BatteryFlat,
        Cause::MountStarved,
        Cause::BehindSkyline,
        Cause::Pulsing,
        Cause::TooLow,
        Cause::TooLittleSun,
    ];
    /// How many.
    pub const COUNT: usize = Self::ALL.len();

    /// Key in JSON and CSV.
    pub fn key(self) -> &'static str {
        match self {
            Cause::Blocked => "pump_blocked",
            Cause::LowWater => "low_water",
            Cause::Wind => "wind",
            Cause::TooCold => "battery_too_cold",
            Cause::BatteryFlat => "battery_flat",
            Cause::MountStarved => "mount_starved",
            Cause::BehindSkyline => "behind_skyline",
            Cause::Pulsing => "pump_pulsing",
            Cause::TooLow => "jet_too_low",
            Cause::TooLittleSun => "too_little_sun",
        }
    }

    /// Words for people.
    pub fn words(self) -> &'static str {
        match self {
            Cause::Blocked => "pump blocked",
            Cause::LowWater => "low water",
            Cause::Wind => "stopped for wind",
            Cause::TooCold => "battery too cold to charge",
            Cause::BatteryFlat => "battery flat",
            Cause::MountStarved => "mount starved or stuck",
            Cause::BehindSkyline => "sun behind the skyline",
            Cause::Pulsing => "pump pulsing",
            Cause::TooLow => "jet too low",
            Cause::TooLittleSun => "too little sun",
        }
    }
}
