//! One observation, checked.

use super::date::Date;
use crate::units::Uncertain;

/// What was seen.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// The jet stopped for the day.
    Stopped,
    /// The jet ran on to the end of the wanted hours.
    DidNotStop,
    /// The jet first ran that day.
    Started,
    /// The jet ran at this time.
    Runs,
    /// There was no jet at this time.
    DoesNotRun,
    /// Height of the jet, m.
    JetHeight,
    /// Flow of the pump, L/min.
    Flow,
    /// Voltage at the terminals of the battery, V.
    BatteryVoltage,
    /// Voltage at the terminals of the panel, V.
    PanelVoltage,
    /// Voltage of the panel with nothing connected to it, V.
    OpenCircuitVoltage,
    /// Voltage at the pump, V.
    PumpVoltage,
    /// Current of the pump, A.
    PumpCurrent,
    /// Current of the panel, A.
    PanelCurrent,
    /// Current of the panel with its terminals joined, A.
    ShortCircuitCurrent,
    /// Current into the battery, A.
    ChargingCurrent,
    /// What electronics and mount take with pump and motors at rest, A.
    StandbyCurrent,
    /// Where the mount looks: azimuth, °.
    Azimuth,
    /// Where the mount looks: tilt from the horizontal, °.
    Tilt,
    /// The mount had not turned all day.
    DidNotTurn,
    /// The basin was filled up that morning.
    FilledUp,
    /// Water lacking to the full mark at the end of the day, m.
    WaterBelowFull,
    /// The jet ran through the wanted hours.
    RanAllDay,
    /// Hours with a jet within the wanted hours, h.
    RanHours,
    /// A still day.
    Still,
    /// A quantity of the design, measured by itself; its key and its value in the base unit.
    Quantity(String),
}

/// The sky as the owner saw it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sky {
    /// Sun and blue sky.
    Clear,
    /// Sun and clouds.
    Broken,
    /// No sun.
    Overcast,
}

/// How a reading was taken, if not from the fountain as it runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Test {
    /// With the pump unplugged.
    PumpUnplugged,
    /// With the panel turned by hand to face the sun.
    PanelToSun,
    /// With the battery disconnected: the pump hangs on the panel.
    BatteryDisconnected,
    /// With the battery freshly charged that morning.
    FreshlyCharged,
    /// With the pump on a supply of this voltage, V.
    OnSupply(f64),
}

impl Test {
    /// Whether the test can be made with a reading of this kind, beside the other tests of its entry.
    pub(super) fn fits(self, what: &What, tests: &[Test]) -> bool {
        match self {
            Test::PumpUnplugged => matches!(
                what,
                What::BatteryVoltage
                    | What::PanelVoltage
                    | What::PanelCurrent
                    | What::ChargingCurrent
                    | What::StandbyCurrent
            ),
            Test::PanelToSun => {
                matches!(what, What::ShortCircuitCurrent | What::OpenCircuitVoltage)
                    || tests.contains(&Test::BatteryDisconnected)
            }
            Test::BatteryDisconnected => matches!(
                what,
                What::JetHeight
                    | What::Flow
                    | What::Runs
                    | What::DoesNotRun
                    | What::PumpVoltage
                    | What::PumpCurrent
            ),
            Test::FreshlyCharged => {
                matches!(what, What::Stopped | What::DidNotStop | What::RanHours | What::BatteryVoltage)
            }
            Test::OnSupply(_) => matches!(what, What::JetHeight | What::Flow | What::PumpCurrent),
        }
    }

    /// As a logbook writes it.
    pub fn words(self) -> String {
        match self {
            Test::PumpUnplugged => "pump unplugged".to_owned(),
            Test::PanelToSun => "panel to the sun".to_owned(),
            Test::BatteryDisconnected => "battery disconnected".to_owned(),
            Test::FreshlyCharged => "freshly charged".to_owned(),
            Test::OnSupply(volts) => format!("on {volts} V"),
        }
    }
}

/// One line of a logbook.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Line in the file, 1-based.
    pub line: usize,
    /// The line as written.
    pub text: String,
    /// Day of the calendar, by the owner's clock.
    pub date: Date,
    /// Time, minutes after midnight of that day in local *standard* time (may be negative); `None` for the day as a whole.
    pub minute: Option<f64>,
    /// The same as the owner's clock showed it.
    pub clock_minute: Option<f64>,
    /// What was seen.
    pub what: What,
    /// The value in the base unit of its kind; `None` where the kind has none.
    pub value: Option<f64>,
    /// Standard deviation of the value; of a time, min; of a jet height, share of it.
    pub sd: f64,
    /// Sky, if noted.
    pub sky: Option<Sky>,
    /// Conditions of a test.
    pub tests: Vec<Test>,
    /// Anything else, to be escaped wherever it is shown.
    pub remark: String,
}

/// A logbook, checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Logbook {
    /// File as given.
    pub path: std::path::PathBuf,
    /// SHA-256 of its bytes, hex.
    pub sha256: String,
    /// Entries by day and time.
    pub entries: Vec<Entry>,
    /// What the user should know, one line each.
    pub warnings: Vec<String>,
}

impl Entry {
    /// Standard deviation of a value that is stated with an uncertainty, as `±` or as a range; `None` if it is not.
    pub(super) fn sd_of(value: &Uncertain) -> Option<f64> {
        use crate::units::Spread;
        match value.spread {
            Spread::Exact => None,
            Spread::Normal { sd } => Some(sd),
            Spread::Rectangular { lo, hi } => Some((hi - lo) / 12f64.sqrt()),
            // Variance of a triangular distribution (JCGM 101:2008, 6.4.5, from memory).
            Spread::Triangular { lo, mode, hi } => {
                let square = lo * lo + mode * mode + hi * hi - lo * mode - lo * hi - mode * hi;
                Some((square / 18.0).sqrt())
            }
        }
    }

    /// Whether it was read off: from a meter, a compass, or by bucket and watch. The others are notes of what was seen.
    pub fn is_reading(&self) -> bool {
        match self.what {
            What::Stopped | What::DidNotStop | What::Started | What::Runs | What::DoesNotRun => false,
            What::DidNotTurn | What::FilledUp | What::RanAllDay | What::RanHours | What::Still => false,
            // Heights are seldom more than looked at.
            What::JetHeight | What::WaterBelowFull => false,
            What::Flow | What::Azimuth | What::Tilt | What::Quantity(_) => true,
            What::BatteryVoltage | What::PanelVoltage | What::OpenCircuitVoltage | What::PumpVoltage => true,
            What::PumpCurrent | What::PanelCurrent | What::ShortCircuitCurrent => true,
            What::ChargingCurrent | What::StandbyCurrent => true,
        }
    }

    /// Whether it says something that a model can agree or disagree with.
    pub fn is_observation(&self) -> bool {
        self.what != What::FilledUp
    }
}
