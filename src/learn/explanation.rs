//! Explanations of a logbook: a sound fountain, or one with a fault, each with its own unknowns.

use crate::design::{Design, MountKind};
use crate::plant::single_unit::direction;
use crate::units::Uncertain;

/// What may lie behind the entries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Explanation {
    /// Everything works as designed, within its uncertainty.
    Sound,
    /// Dirt or shade takes a large share of the light, all day.
    DirtyPanel,
    /// The mount no longer turns.
    StuckMount,
    /// The pump is blocked from some day on.
    BlockedPump,
    /// The battery has lost much of its capacity.
    WornBattery,
    /// Something draws current day and night.
    Drain,
}

/// Ranges of the unknowns of faults (common practice, no source).
const LIGHT_LOST: (f64, f64) = (0.2, 0.7);
const CAPACITY_LEFT: (f64, f64) = (0.2, 0.75);
const RESISTANCE_TIMES: (f64, f64) = (1.0, 2.5);
const DRAIN_A: (f64, f64) = (0.02, 0.2);
const STUCK_TILT_DEG: (f64, f64) = (5.0, 80.0);

/// A drawn unit with its fault.
#[derive(Clone, Debug)]
pub struct Unit {
    /// Its parts.
    pub design: Design<f64>,
    /// Where a stuck mount looks.
    pub stuck: Option<[f64; 3]>,
}

impl Explanation {
    /// All, the sound one first.
    pub const ALL: [Explanation; 6] = [
        Explanation::Sound,
        Explanation::DirtyPanel,
        Explanation::StuckMount,
        Explanation::BlockedPump,
        Explanation::WornBattery,
        Explanation::Drain,
    ];

    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Explanation::Sound => "everything works as designed",
            Explanation::DirtyPanel => "the panel is dirty or shaded all day",
            Explanation::StuckMount => "the mount is stuck",
            Explanation::BlockedPump => "the pump is blocked",
            Explanation::WornBattery => "the battery is worn",
            Explanation::Drain => "something drains the battery day and night",
        }
    }

    /// Key in files.
    pub fn key(self) -> &'static str {
        match self {
            Explanation::Sound => "sound",
            Explanation::DirtyPanel => "dirty_panel",
            Explanation::StuckMount => "stuck_mount",
            Explanation::BlockedPump => "blocked_pump",
            Explanation::WornBattery => "worn_battery",
            Explanation::Drain => "drain",
        }
    }

    /// How likely it is before any entry, relative to the others. Faults are weighed where an entry or a quantity is odd, or where the owner asks
    /// for it: half of these fountains are taken for sound, and the five faults alike (common practice, no source).
    pub fn prior(self) -> f64 {
        match self {
            Explanation::Sound => 0.5,
            Explanation::DirtyPanel | Explanation::StuckMount | Explanation::BlockedPump => 0.1,
            Explanation::WornBattery | Explanation::Drain => 0.1,
        }
    }

    /// The reading that sees that part by itself.
    pub fn seen_by(self) -> &'static str {
        match self {
            Explanation::Sound => "a stop time on another clear evening",
            Explanation::DirtyPanel => {
                "the short-circuit current at noon under a clear sky, panel turned to the sun"
            }
            Explanation::StuckMount => "where the mount looks in the morning and in the afternoon",
            Explanation::BlockedPump => "whether the pump runs on a supply",
            Explanation::WornBattery => "how many hours the freshly charged battery runs the pump",
            Explanation::Drain => "the standby current with the pump unplugged",
        }
    }

    /// Whether a design can have it.
    pub fn applies(self, design: &Design<Uncertain>) -> bool {
        match self {
            Explanation::Sound | Explanation::DirtyPanel | Explanation::BlockedPump => true,
            Explanation::StuckMount => design.mount.kind != MountKind::Fixed,
            Explanation::WornBattery | Explanation::Drain => design.battery.is_some(),
        }
    }

    /// Its own unknowns.
    pub fn unknowns(self) -> usize {
        match self {
            Explanation::Sound => 0,
            Explanation::DirtyPanel | Explanation::BlockedPump | Explanation::Drain => 1,
            Explanation::StuckMount | Explanation::WornBattery => 2,
        }
    }

    /// A unit with this fault, by the uniform numbers `u` of its unknowns; the logbook has `days` days.
    pub fn unit(self, mut design: Design<f64>, u: &[f64], days: usize) -> Unit {
        let between = |(lo, hi): (f64, f64), u: f64| lo + u * (hi - lo);
        let mut stuck = None;
        match (self, u) {
            (Explanation::DirtyPanel, &[u]) => {
                design.panel.soiling = 1.0 - (1.0 - design.panel.soiling) * (1.0 - between(LIGHT_LOST, u));
            }
            (Explanation::StuckMount, &[azimuth, tilt]) => {
                let mount = &mut design.mount;
                let half = mount.azimuth_half_range_deg;
                let azimuth_deg =
                    between((mount.azimuth_centre_deg - half, mount.azimuth_centre_deg + half), azimuth);
                let tilt_deg = between(STUCK_TILT_DEG, tilt).min(mount.tilt_max_deg);
                mount.stuck_from_day = Some(0);
                stuck = Some(direction(tilt_deg, azimuth_deg));
            }
            (Explanation::BlockedPump, &[u]) => {
                design.pump.blocked_from_day = Some((u * days as f64) as u16);
            }
            (Explanation::WornBattery, &[capacity, resistance]) => {
                if let Some(battery) = &mut design.battery {
                    battery.capacity_left *= between(CAPACITY_LEFT, capacity);
                    battery.resistance_ohm *= between(RESISTANCE_TIMES, resistance);
                }
            }
            (Explanation::Drain, &[u]) => {
                // Evenly spread in the logarithm.
                let (lo, hi) = (libm::log(DRAIN_A.0), libm::log(DRAIN_A.1));
                design.electronics.standby_current_a += libm::exp(between((lo, hi), u));
            }
            (Explanation::Sound, _)
            | (Explanation::DirtyPanel | Explanation::StuckMount | Explanation::BlockedPump, _)
            | (Explanation::WornBattery | Explanation::Drain, _) => {}
        }
        Unit { design, stuck }
    }
}
