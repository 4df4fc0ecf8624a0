//! What a unit carries from year to year: the wear of its battery, the fading of its panel, the lives of its pump and its mount. And what
//! it is like in a year.

use super::part::{Part, Use};
use crate::design::{Care, Chemistry, Design, Front};
use crate::lanes::Isa;
use crate::plant::ageing::wear::{Wear, capacity_left, resistance_factor};
use crate::plant::{DayBlock, State};
use crate::seed::{self, Purpose};
use crate::tally::BatteryAge;
use crate::units::normal_quantile;
use serde::{Deserialize, Serialize};

/// Loss of a panel's power a year, share: lognormal.
struct Fade {
    median: f64,
    /// Standard deviation of its logarithm.
    ln_sd: f64,
    /// None fades faster (own choice: published rates beyond are faults).
    most: f64,
}

impl Fade {
    /// Behind glass through median and mean of some 11,000 published rates of crystalline panels (Jordan et al. 2016, Prog. Photovolt.
    /// 24:978-989). Behind plastic common practice, no source: no field study with rates is known, so the spread is wide.
    fn behind(front: Front) -> Fade {
        let plastic = |median| Fade { median, ln_sd: 0.7, most: 0.25 };
        match front {
            Front::Glass => Fade { median: 0.0055, ln_sd: 0.933, most: 0.04 },
            Front::Fluoropolymer => plastic(0.02),
            Front::Pet => plastic(0.04),
            Front::Resin => plastic(0.08),
        }
    }
}

/// Share of its power that a panel keeps at least.
const KEPT_LEAST: f64 = 0.1;

/// Share of its capacity that lead-acid loses for good on each day on which it lies empty, at 25 °C; lognormal, drawn for each life (common
/// practice, no source: 0.1 to 1 % a day at 20 °C).
const EMPTY_LOSS: (f64, f64) = (0.007, 0.7);
/// The least that a battery holds, as a share of what it held when new (own choice: the laws say nothing there).
const HOLDS_LEAST: f64 = 0.05;

/// A unit on its way through its years.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    /// As drawn, new.
    new: Design<f64>,
    isa: Isa,
    fade_a_year: f64,
    empty_loss: f64,
    /// Years since the start, and age of the battery.
    years: u16,
    battery_years: u16,
    battery: Option<BatteryAge>,
    pump: Part,
    /// None if it is fixed.
    mount: Option<Part>,
}

/// What has been replaced in a year.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Replaced {
    pub batteries: u32,
    pub pumps: u32,
    pub mounts: u32,
    pub visits: u32,
}

impl Unit {
    /// A new unit; its luck follows from seed and number of its life.
    pub(super) fn new(design: Design<f64>, (seed, life): (u64, u64), isa: Isa) -> Unit {
        let normal = |purpose| {
            normal_quantile(seed::open_unit(&mut seed::stream(seed, Purpose::Part(purpose), life, 0)))
        };
        let fade = Fade::behind(design.panel.front);
        Unit {
            fade_a_year: (fade.median * libm::exp(fade.ln_sd * normal("years.panel_fade"))).min(fade.most),
            empty_loss: EMPTY_LOSS.0 * libm::exp(EMPTY_LOSS.1 * normal("years.left_empty")),
            years: 0,
            battery_years: 0,
            battery: design.battery.as_ref().map(|b| BatteryAge::new(b, isa)),
            pump: Part::pump(&design.pump, (seed, life)),
            mount: Part::mount(&design.mount, (seed, life)),
            new: design,
            isa,
        }
    }

    fn chemistry(&self) -> Option<Chemistry> {
        self.new.battery.as_ref().map(|b| b.chemistry)
    }

    fn wear(&self) -> Wear {
        self.battery.as_ref().map_or(Wear::default(), BatteryAge::wear)
    }

    /// What the battery holds, as a share of what it held when new; none without a battery.
    pub(super) fn capacity_left(&self) -> Option<f64> {
        let chemistry = self.chemistry()?;
        let empty_days = self.battery.as_ref().map_or(0.0, BatteryAge::empty_days);
        let kept = match chemistry {
            Chemistry::LeadAcid => libm::exp(-self.empty_loss.min(0.5) * empty_days),
            _ => 1.0,
        };
        Some((capacity_left(chemistry, self.wear()) * kept).max(HOLDS_LEAST))
    }

    /// Whether cycles and calendar have used up the battery's life.
    pub(super) fn battery_is_worn_out(&self) -> bool {
        self.wear().total() >= 1.0
    }

    /// Before a season: replaces what the plan of care replaces then. Whether the battery is new.
    pub(super) fn spring(&mut self, care: &Care) -> (Replaced, bool) {
        let mut done = Replaced::default();
        let low =
            care.replace_battery_below.zip(self.capacity_left()).is_some_and(|(least, left)| left < least);
        let old =
            care.replace_battery_every_years.is_some_and(|years| f64::from(self.battery_years) >= years);
        if let Some(b) = self.new.battery.as_ref().filter(|_| low || old) {
            (self.battery, self.battery_years) = (Some(BatteryAge::new(b, self.isa)), 0);
            done.batteries = 1;
        }
        // A part that failed in the last season or since, and that is to be replaced at all, is by spring.
        done.pumps = u32::from(self.pump.replace_if_failed(care.replace_pump_after_days));
        done.mounts = self
            .mount
            .as_mut()
            .map_or(0, |mount| u32::from(mount.replace_if_failed(care.replace_mount_after_days)));
        done.visits = u32::from(done != Replaced::default());
        (done, done.batteries > 0)
    }

    /// As it is this year.
    pub(super) fn design(&self) -> Design<f64> {
        let mut d = self.new.clone();
        if self.years > 0 {
            let kept = (1.0 - self.fade_a_year * f64::from(self.years)).max(KEPT_LEAST);
            d.panel.rated_power_w *= kept;
            d.panel.short_circuit_current_a *= kept;
        }
        if let (Some(b), Some(left)) = (&mut d.battery, self.capacity_left()) {
            b.capacity_left *= left;
            b.resistance_ohm *= resistance_factor(b.chemistry, self.wear());
        }
        d
    }

    /// Tells the state of its block which of its parts are broken.
    pub(super) fn tell(&self, state: &mut State, lane: usize) {
        let [pump, mount] = self.broken();
        state.break_pump(lane, pump);
        state.break_mount(lane, mount);
    }

    /// A day that it has stood out in the garden: what wears it.
    pub(super) fn wears(&mut self, out: &DayBlock, lane: usize) {
        if let Some(battery) = &mut self.battery {
            battery.day(out, lane);
        }
        self.pump.wears(Use { hours: out.pump_h.0[lane], moves: 0.0 });
        if let Some(mount) = &mut self.mount {
            mount.wears(Use { hours: out.motors_h.0[lane], moves: out.moves.0[lane] });
        }
    }

    /// Whether pump and mount are broken.
    pub(super) fn broken(&self) -> [bool; 2] {
        [self.pump.failed(), self.mount.as_ref().is_some_and(Part::failed)]
    }

    /// The evening of a day of the season: a part that has failed is replaced after its days.
    pub(super) fn evening(&mut self, care: &Care, replaced: &mut Replaced) {
        let pump = self.pump.evening(care.replace_pump_after_days);
        let mount = self.mount.as_mut().is_some_and(|m| m.evening(care.replace_mount_after_days));
        replaced.pumps += u32::from(pump);
        replaced.mounts += u32::from(mount);
        replaced.visits += u32::from(pump || mount);
    }

    /// The battery rests indoors, and ages as in so many hours at 25 °C.
    pub(super) fn rests(&mut self, shelf_h: f64) {
        if let Some(battery) = &mut self.battery {
            battery.rests(shelf_h);
        }
    }

    /// The year is over.
    pub(super) fn end_year(&mut self) {
        self.years += 1;
        self.battery_years += 1;
    }
}
