//! Why a wanted minute has no jet that counts. The order of the causes is defined here and nowhere else.

/// Why a wanted minute went without a jet that counts: each such minute has exactly one cause, the first of this list that holds.
///
/// The panel *would have carried* the jet if, by its own curve, it gives the current that pump and electronics take at the voltage
/// where the jet counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// The pump is blocked (a fault asked for).
    Blocked,
    /// Ice on the basin, or in nozzle and pipe, stops the jet.
    Frozen,
    /// The basin is at its low-water mark, which stops the pump.
    LowWater,
    /// The wind cut-off has stopped the pump.
    Wind,
    /// The battery is cut off, and frost has refused it charge since it was last connected.
    TooCold,
    /// The battery is cut off and waits for its reconnect voltage, or its voltage does not start the pump.
    BatteryFlat,
    /// A rule of `[running]` holds the pump back (its hours, its light switch), which could run.
    HeldBack,
    /// The mount wanted to move and could not (supply too low, or stuck); aimed where it wanted to look, and with no motor turning,
    /// the panel would have carried the jet.
    MountStarved,
    /// The skyline hides the sun; in the open (at its best direction for a mount that moves, at its place for a fixed one) the panel
    /// would have carried the jet.
    BehindSkyline,
    /// Something lies on the panel; clean, it would have carried the jet.
    Covered,
    /// The pump runs for part of the minute, and for too small a part.
    Pulsing,
    /// The pump runs, and the jet stays below the wished height.
    TooLow,
    /// Everything else: the panel gets too little light.
    TooLittleSun,
}

impl Cause {
    /// All causes in order; each stands at its own number.
    pub const ALL: [Cause; 13] = [
        Cause::Blocked,
        Cause::Frozen,
        Cause::LowWater,
        Cause::Wind,
        Cause::TooCold,
        Cause::BatteryFlat,
        Cause::HeldBack,
        Cause::MountStarved,
        Cause::BehindSkyline,
        Cause::Covered,
        Cause::Pulsing,
        Cause::TooLow,
        Cause::TooLittleSun,
    ];
    /// How many.
    pub(crate) const COUNT: usize = Self::ALL.len();

    /// Key in JSON and CSV.
    pub(crate) fn key(self) -> &'static str {
        match self {
            Cause::Blocked => "pump_blocked",
            Cause::Frozen => "frozen",
            Cause::LowWater => "low_water",
            Cause::Wind => "wind",
            Cause::TooCold => "battery_too_cold",
            Cause::BatteryFlat => "battery_flat",
            Cause::HeldBack => "held_back_by_rule",
            Cause::MountStarved => "mount_starved",
            Cause::BehindSkyline => "behind_skyline",
            Cause::Covered => "panel_covered",
            Cause::Pulsing => "pump_pulsing",
            Cause::TooLow => "jet_too_low",
            Cause::TooLittleSun => "too_little_sun",
        }
    }

    /// Words for people.
    pub fn words(self) -> &'static str {
        match self {
            Cause::Blocked => "pump blocked",
            Cause::Frozen => "frozen",
            Cause::LowWater => "low water",
            Cause::Wind => "stopped for wind",
            Cause::TooCold => "battery too cold to charge",
            Cause::BatteryFlat => "battery flat",
            Cause::HeldBack => "held back by a rule",
            Cause::MountStarved => "mount starved or stuck",
            Cause::BehindSkyline => "sun behind the skyline",
            Cause::Covered => "panel covered",
            Cause::Pulsing => "pump pulsing",
            Cause::TooLow => "jet too low",
            Cause::TooLittleSun => "too little sun",
        }
    }
}

const _: () = {
    let mut k = 0;
    while k < Cause::COUNT {
        assert!(Cause::ALL[k] as usize == k, "`Cause::ALL` has another order than `Cause`");
        k += 1;
    }
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_guide_for_developers_lists_the_causes_in_order() {
        let guide = include_str!("../../../DEVELOPERS.md");
        let (_, list) = guide.split_once("## How causes are").unwrap();
        let (list, _) = list.split_once("\n## ").unwrap();
        let named: Vec<(&str, &str)> = list
            .lines()
            .filter_map(|line| line.split_once(". **"))
            .filter_map(|(number, rest)| Some((number, rest.split_once("**")?.0)))
            .collect();
        let expected: Vec<(String, &str)> =
            Cause::ALL.iter().enumerate().map(|(k, cause)| ((k + 1).to_string(), cause.words())).collect();
        assert_eq!(named, expected.iter().map(|(n, w)| (n.as_str(), *w)).collect::<Vec<_>>());
    }
}
