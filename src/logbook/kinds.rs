//! What can be noted in a logbook: one row a kind. Reading, messages, the starter and the guide come from this table.

use super::entry::What;
use super::handwriting::plain;
use crate::units::Dimension;

/// What an entry of a kind must have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// A time of day.
    Time,
    /// No time: it speaks of a whole day, or of a part.
    Day,
    /// Either.
    Any,
}

/// How well a reading is known if the entry does not say so: one standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Usual {
    /// In the base unit.
    Absolute(f64),
    /// Share of the value.
    Relative(f64),
    /// Whichever is larger: share of the value, or in the base unit.
    Larger(f64, f64),
    /// There is nothing to be off.
    None,
}

/// A kind of entry.
#[derive(Clone, Debug)]
pub struct Kind {
    /// Words for it, the usual ones first.
    pub words: &'static [&'static str],
    /// What it is.
    pub what: What,
    /// Time or day.
    pub needs: Needs,
    /// Kind of its value; `None` if it has none.
    pub value: Option<Dimension>,
    /// How well it is known by default.
    pub usual: Usual,
    /// A value as it may be written, and what the kind means.
    pub example: &'static str,
    /// What it says, for people.
    pub meaning: &'static str,
}

/// Standard deviation of a noted time, min: a glance at the clock some minutes late (common practice, no source).
pub(super) const TIME_SD_MIN: f64 = 10.0;
/// Standard deviation of a quantity measured by itself, as a share of it, if the entry does not say (common practice, no source).
pub(super) const QUANTITY_SD: f64 = 0.03;

#[rustfmt::skip]
static KINDS: [Kind; 24] = [
    Kind { words: &["stopped", "stopped at", "stop", "jet stopped"], what: What::Stopped, needs: Needs::Time, value: None, usual: Usual::Absolute(TIME_SD_MIN), example: "", meaning: "the jet stopped for the day at this time" },
    Kind { words: &["did not stop", "no stop"], what: What::DidNotStop, needs: Needs::Day, value: None, usual: Usual::None, example: "", meaning: "the jet ran on to the end of the wanted hours" },
    Kind { words: &["started", "started at", "start", "jet started"], what: What::Started, needs: Needs::Time, value: None, usual: Usual::Absolute(TIME_SD_MIN), example: "", meaning: "the jet first ran that day at this time" },
    Kind { words: &["runs", "ran", "running", "run"], what: What::Runs, needs: Needs::Time, value: None, usual: Usual::None, example: "", meaning: "there was a jet at this time" },
    Kind { words: &["does not run", "no jet", "did not run", "not running"], what: What::DoesNotRun, needs: Needs::Time, value: None, usual: Usual::None, example: "", meaning: "there was no jet at this time" },
    Kind { words: &["jet height", "jet"], what: What::JetHeight, needs: Needs::Any, value: Some(Dimension::Length), usual: Usual::Relative(0.10), example: "30 cm", meaning: "height of the jet" },
    Kind { words: &["flow"], what: What::Flow, needs: Needs::Any, value: Some(Dimension::Flow), usual: Usual::Relative(0.07), example: "4 L/min", meaning: "what the pump moves, by bucket and watch" },
    Kind { words: &["battery voltage"], what: What::BatteryVoltage, needs: Needs::Time, value: Some(Dimension::Voltage), usual: Usual::Absolute(0.05), example: "6.4 V", meaning: "at the terminals of the battery" },
    Kind { words: &["panel voltage"], what: What::PanelVoltage, needs: Needs::Time, value: Some(Dimension::Voltage), usual: Usual::Absolute(0.1), example: "7.1 V", meaning: "at the terminals of the panel, connected" },
    Kind { words: &["open-circuit voltage", "open voltage", "voc"], what: What::OpenCircuitVoltage, needs: Needs::Time, value: Some(Dimension::Voltage), usual: Usual::Relative(0.01), example: "10.4 V", meaning: "of the panel with nothing connected to it" },
    Kind { words: &["pump voltage"], what: What::PumpVoltage, needs: Needs::Time, value: Some(Dimension::Voltage), usual: Usual::Absolute(0.05), example: "6.1 V", meaning: "at the pump while it runs" },
    Kind { words: &["pump current"], what: What::PumpCurrent, needs: Needs::Any, value: Some(Dimension::Current), usual: Usual::Relative(0.05), example: "280 mA", meaning: "of the pump while it runs" },
    Kind { words: &["panel current"], what: What::PanelCurrent, needs: Needs::Time, value: Some(Dimension::Current), usual: Usual::Relative(0.05), example: "0.9 A", meaning: "of the panel, connected" },
    Kind { words: &["short-circuit current", "isc"], what: What::ShortCircuitCurrent, needs: Needs::Time, value: Some(Dimension::Current), usual: Usual::Relative(0.05), example: "1.1 A", meaning: "of the panel alone, its terminals joined through the meter" },
    Kind { words: &["charging current"], what: What::ChargingCurrent, needs: Needs::Time, value: Some(Dimension::Current), usual: Usual::Larger(0.05, 0.01), example: "0.5 A", meaning: "into the battery (negative: out of it)" },
    Kind { words: &["standby current", "stand-by current"], what: What::StandbyCurrent, needs: Needs::Any, value: Some(Dimension::Current), usual: Usual::Relative(0.10), example: "9 mA", meaning: "of electronics and mount, pump and motors at rest" },
    Kind { words: &["azimuth", "mount looks to"], what: What::Azimuth, needs: Needs::Time, value: Some(Dimension::Angle), usual: Usual::Absolute(10.0), example: "200 deg", meaning: "where the panel looks, from north over east" },
    Kind { words: &["tilt"], what: What::Tilt, needs: Needs::Time, value: Some(Dimension::Angle), usual: Usual::Absolute(5.0), example: "40 deg", meaning: "of the panel from the horizontal" },
    Kind { words: &["did not turn", "mount does not turn"], what: What::DidNotTurn, needs: Needs::Day, value: None, usual: Usual::None, example: "", meaning: "the mount had not moved all day" },
    Kind { words: &["filled up"], what: What::FilledUp, needs: Needs::Day, value: None, usual: Usual::None, example: "", meaning: "the basin was filled up that morning" },
    Kind { words: &["water below full"], what: What::WaterBelowFull, needs: Needs::Day, value: Some(Dimension::Length), usual: Usual::Larger(0.05, 0.005), example: "3 cm", meaning: "how far the water stood below the full mark in the evening" },
    Kind { words: &["ran all day"], what: What::RanAllDay, needs: Needs::Day, value: None, usual: Usual::None, example: "", meaning: "a jet through the wanted hours" },
    Kind { words: &["ran hours", "hours of jet"], what: What::RanHours, needs: Needs::Day, value: Some(Dimension::Hours), usual: Usual::Larger(0.15, 0.5), example: "6 h", meaning: "about so many hours with a jet" },
    Kind { words: &["still", "still day"], what: What::Still, needs: Needs::Day, value: None, usual: Usual::None, example: "", meaning: "a still day, as the wish counts them" },
];

/// All kinds, in the order of the guide.
pub fn kinds() -> &'static [Kind] {
    &KINDS
}

/// Least and largest value that a reading can have, in its base unit; `None` if it has none.
pub(super) fn possible(what: &What) -> Option<(f64, f64)> {
    Some(match what {
        What::JetHeight => (1e-3, 20.0),
        What::Flow => (1e-3, 1e3),
        What::BatteryVoltage | What::PanelVoltage | What::OpenCircuitVoltage | What::PumpVoltage => {
            (0.0, 100.0)
        }
        What::PumpCurrent | What::PanelCurrent | What::ShortCircuitCurrent => (0.0, 100.0),
        What::ChargingCurrent => (-100.0, 100.0),
        What::StandbyCurrent => (1e-6, 10.0),
        What::Azimuth => (-180.0, 360.0),
        What::Tilt => (0.0, 180.0),
        What::WaterBelowFull => (0.0, 5.0),
        What::RanHours => (0.0, 24.0),
        What::Quantity(_) => (f64::NEG_INFINITY, f64::INFINITY),
        What::Stopped | What::DidNotStop | What::Started | What::Runs | What::DoesNotRun => return None,
        What::DidNotTurn | What::FilledUp | What::RanAllDay | What::Still => return None,
    })
}

impl Kind {
    /// The kind that goes by these words, capitals and blanks aside.
    pub(super) fn named(words: &str) -> Option<&'static Kind> {
        let wanted = plain(words);
        KINDS.iter().find(|k| k.words.iter().any(|w| plain(w) == wanted))
    }

    /// Standard deviation of a reading of this value, if nobody says otherwise.
    pub fn sd(&self, value: f64) -> f64 {
        self.usual.sd(value)
    }

    /// What is seen, as a logbook writes it: the words of its kind, or the key of a quantity.
    pub fn words_of(what: &What) -> &str {
        match what {
            What::Quantity(key) => key,
            what => Kind::of(what).map_or("", |kind| kind.words[0]),
        }
    }

    /// The kind of something seen; quantities of the design have none.
    pub fn of(what: &What) -> Option<&'static Kind> {
        KINDS.iter().find(|k| k.what == *what)
    }
}

impl Usual {
    /// Standard deviation of a value.
    pub(super) fn sd(self, value: f64) -> f64 {
        match self {
            Usual::Absolute(sd) => sd,
            Usual::Relative(share) => share * value.abs(),
            Usual::Larger(share, least) => (share * value.abs()).max(least),
            Usual::None => 0.0,
        }
    }

    /// For people: "10 %", "0.05 V".
    pub fn words(self, dimension: Option<Dimension>) -> String {
        let unit = dimension.map_or("min", Dimension::base_unit);
        let percent = |share: f64| format!("{} %", 100.0 * share);
        match self {
            Usual::Absolute(sd) => format!("{sd} {unit}"),
            Usual::Relative(share) => percent(share),
            Usual::Larger(share, least) => format!("{}, at least {least} {unit}", percent(share)),
            Usual::None => String::new(),
        }
    }
}
