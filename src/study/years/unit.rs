//! What a unit carries from year to year: the wear of its battery, the fading of its panel, the life of its pump. And what it
//! is like in a year.

use super::weibull::Weibull;
use crate::design::{Care, Chemistry, Design, Front, PumpKind};
use crate::plant::ageing::wear::{Wear, capacity_left, resistance_factor};
use crate::seed::{self, Purpose};
use crate::units::normal_quantile;

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

/// Running hours of pumps (own choice after makers' figures, no source; the shape of brushed ones between the spread within a make
/// and that between makes). A rated life takes the place of the median.
const BRUSHED: Weibull = Weibull { median: 3000.0, shape: 2.5 };
const BRUSHLESS: Weibull = Weibull { median: 15_000.0, shape: 1.8 };

/// A unit on its way through its years.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    /// As drawn, new.
    new: Design<f64>,
    seed: u64,
    life: u64,
    fade_a_year: f64,
    /// Years since the start, and age of the battery.
    years: u16,
    battery_years: u16,
    pub wear: Wear,
    pumps: u16,
    pump_life_h: f64,
    pump_h: f64,
    /// Days until a new pump runs, if the pump has failed.
    waiting_days: Option<u16>,
    failed: bool,
}

/// What has been replaced in a year.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Replaced {
    pub batteries: u32,
    pub pumps: u32,
    pub visits: u32,
}

impl Unit {
    /// A new unit; its luck follows from seed and number of its life.
    pub(super) fn new(design: Design<f64>, seed: u64, life: u64) -> Unit {
        let u = seed::open_unit(&mut seed::stream(seed, Purpose::Part("years.panel_fade"), life, 0));
        let fade = Fade::behind(design.panel.front);
        let mut unit = Unit {
            new: design,
            seed,
            life,
            fade_a_year: (fade.median * libm::exp(fade.ln_sd * normal_quantile(u))).min(fade.most),
            years: 0,
            battery_years: 0,
            wear: Wear::default(),
            pumps: 0,
            pump_life_h: 0.0,
            pump_h: 0.0,
            waiting_days: None,
            failed: false,
        };
        unit.new_pump();
        unit
    }

    fn new_pump(&mut self) {
        let pump = &self.new.pump;
        let usual = match pump.kind {
            PumpKind::Brushed => BRUSHED,
            PumpKind::Electronic => BRUSHLESS,
        };
        let life = Weibull { median: pump.rated_hours.unwrap_or(usual.median), ..usual };
        let number = u64::from(self.pumps);
        let mut rng = seed::stream(self.seed, Purpose::Part("years.pump_life"), self.life, number);
        self.pump_life_h = life.at(seed::open_unit(&mut rng));
        (self.pump_h, self.failed, self.waiting_days) = (0.0, false, None);
        self.pumps += 1;
    }

    fn chemistry(&self) -> Option<Chemistry> {
        self.new.battery.as_ref().map(|b| b.chemistry)
    }

    /// What the battery holds, as a share of what it held when new; none without a battery.
    pub(super) fn capacity_left(&self) -> Option<f64> {
        self.chemistry().map(|chemistry| capacity_left(chemistry, self.wear))
    }

    /// Whether cycles and calendar have used up the battery's life.
    pub(super) fn battery_is_worn_out(&self) -> bool {
        self.wear.total() >= 1.0
    }

    /// Before a season: replaces what the plan of care replaces then.
    pub(super) fn spring(&mut self, care: &Care) -> Replaced {
        let mut done = Replaced::default();
        let low =
            care.replace_battery_below.zip(self.capacity_left()).is_some_and(|(least, left)| left < least);
        let old =
            care.replace_battery_every_years.is_some_and(|years| f64::from(self.battery_years) >= years);
        if self.chemistry().is_some() && (low || old) {
            (self.wear, self.battery_years) = (Wear::default(), 0);
            done.batteries = 1;
        }
        // A pump that failed in the last season, and that is to be replaced at all, is by spring.
        if self.failed && care.replace_pump_after_days.is_some() {
            self.new_pump();
            done.pumps = 1;
        }
        done.visits = u32::from(done != Replaced::default());
        done
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
            b.resistance_ohm *= resistance_factor(b.chemistry, self.wear);
        }
        d
    }

    /// A day on which the pump has run so long, h. Whether the fountain ran: not if the pump has failed.
    pub(super) fn day(&mut self, pump_h: f64, care: &Care, replaced: &mut Replaced) -> bool {
        if !self.failed {
            self.pump_h += pump_h;
            self.failed = self.pump_h > self.pump_life_h;
            self.waiting_days = care.replace_pump_after_days.filter(|_| self.failed);
            return true;
        }
        match self.waiting_days {
            Some(0) => {
                self.new_pump();
                replaced.pumps += 1;
                replaced.visits += 1;
                true
            }
            Some(days) => {
                self.waiting_days = Some(days - 1);
                false
            }
            None => false,
        }
    }

    /// The year is over: the battery has worn so much.
    pub(super) fn end_year(&mut self, wear: Option<Wear>) {
        if let Some(wear) = wear {
            self.wear.cycles += wear.cycles;
            self.wear.calendar += wear.calendar;
        }
        self.years += 1;
        self.battery_years += 1;
    }
}
