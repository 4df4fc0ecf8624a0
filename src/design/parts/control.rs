//! Rules of `[running]` by which a small controller slows the pump down or holds it back.

use super::wish::DayTime;

/// What a controller does beside its hours; nothing unless a design says so.
#[derive(Clone, Debug, PartialEq)]
pub struct Control<N> {
    /// At a low charge the pump runs slower.
    pub slow: Option<Slow<N>>,
    /// At a still lower charge it runs slower again: a third speed.
    pub slower: Option<Slow<N>>,
    /// At a low charge it rests in intervals.
    pub rest: Option<Rest<N>>,
    /// In the morning it is held.
    pub hold: Option<Hold<N>>,
    /// Charge is kept for the evening.
    pub reserve: Option<Reserve<N>>,
    /// Rain of an hour from which it is off, mm.
    pub rain_off_mm: Option<f64>,
}

/// What a controller measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// State of charge, share.
    Charge,
    /// Voltage of the battery under its load, V.
    Voltage,
}

/// A rule acts from below a value until another one is reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Threshold<N> {
    /// What is measured.
    pub by: Measure,
    /// Below this it acts ...
    pub below: N,
    /// ... until this is reached again.
    pub ends: N,
}

/// A lower speed of the pump.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slow<N> {
    /// When.
    pub when: Threshold<N>,
    /// How slow.
    pub speed: Speed<N>,
}

/// How a pump is slowed down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Speed<N> {
    /// A chopper gives it this share of the voltage, 0..1.
    Share(N),
    /// A linear regulator gives it at most this voltage, V.
    Voltage(N),
}

/// Intervals of rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest<N> {
    /// When.
    pub when: Threshold<N>,
    /// Whole minutes it runs ...
    pub on_min: f64,
    /// ... and rests, in turn.
    pub off_min: f64,
}

/// The pump is held from first light on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold<N> {
    /// Until the battery has this ...
    pub until: Option<(Measure, N)>,
    /// ... or the mount has settled on its target ...
    pub for_mount: bool,
    /// ... and no longer than until this hour.
    pub latest: DayTime,
}

/// Before an hour the pump runs only above a charge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reserve<N> {
    /// When it is held.
    pub when: Threshold<N>,
    /// From this hour on the reserve may be used.
    pub until: DayTime,
}

/// The keys of a threshold: by charge, then by voltage.
#[derive(Clone, Copy, Debug)]
pub(in crate::design) struct ThresholdKeys {
    pub below: [&'static str; 2],
    pub ends: [&'static str; 2],
}

impl ThresholdKeys {
    pub(in crate::design) const SLOW: ThresholdKeys = ThresholdKeys {
        below: ["running.slow_below", "running.slow_below_voltage"],
        ends: ["running.slow_ends", "running.slow_ends_voltage"],
    };
    pub(in crate::design) const SLOWER: ThresholdKeys = ThresholdKeys {
        below: ["running.slower_below", "running.slower_below_voltage"],
        ends: ["running.slower_ends", "running.slower_ends_voltage"],
    };
    pub(in crate::design) const REST: ThresholdKeys = ThresholdKeys {
        below: ["running.rest_below", "running.rest_below_voltage"],
        ends: ["running.rest_ends", "running.rest_ends_voltage"],
    };
    pub(in crate::design) const RESERVE: ThresholdKeys = ThresholdKeys {
        below: ["running.reserve_below", "running.reserve_below_voltage"],
        ends: ["running.reserve_ends", "running.reserve_ends_voltage"],
    };
}

/// Keys of how slow a pump runs: as a share, then at a voltage.
pub(in crate::design) const SLOW_SPEED: [&str; 2] = ["running.slow_speed", "running.slow_voltage"];
/// The same of the third speed.
pub(in crate::design) const SLOWER_SPEED: [&str; 2] = ["running.slower_speed", "running.slower_voltage"];
/// Keys of what the battery must have before the pump is let run in the morning.
pub(in crate::design) const HOLD_UNTIL: [&str; 2] = ["running.hold_until", "running.hold_until_voltage"];

impl Measure {
    /// Its place in a pair of keys.
    pub(in crate::design) fn place(self) -> usize {
        match self {
            Measure::Charge => 0,
            Measure::Voltage => 1,
        }
    }
}

impl<N> Default for Control<N> {
    fn default() -> Self {
        Control { slow: None, slower: None, rest: None, hold: None, reserve: None, rain_off_mm: None }
    }
}

impl<N> Control<N> {
    /// Whether a rule goes by the battery, the mount or the hour.
    pub(crate) fn acts(&self) -> bool {
        self.slow.is_some() || self.rest.is_some() || self.hold.is_some() || self.reserve.is_some()
    }

    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Control<M> {
        Control {
            slow: self.slow.as_ref().map(|s| s.map(&ThresholdKeys::SLOW, SLOW_SPEED, f)),
            slower: self.slower.as_ref().map(|s| s.map(&ThresholdKeys::SLOWER, SLOWER_SPEED, f)),
            rest: self.rest.as_ref().map(|r| Rest {
                when: r.when.map(&ThresholdKeys::REST, f),
                on_min: r.on_min,
                off_min: r.off_min,
            }),
            hold: self.hold.as_ref().map(|h| Hold {
                until: h.until.as_ref().map(|(by, n)| (*by, f(HOLD_UNTIL[by.place()], n))),
                for_mount: h.for_mount,
                latest: h.latest,
            }),
            reserve: self
                .reserve
                .as_ref()
                .map(|r| Reserve { when: r.when.map(&ThresholdKeys::RESERVE, f), until: r.until }),
            rain_off_mm: self.rain_off_mm,
        }
    }
}

impl<N> Threshold<N> {
    fn map<M>(&self, keys: &ThresholdKeys, f: &mut impl FnMut(&str, &N) -> M) -> Threshold<M> {
        let k = self.by.place();
        Threshold { by: self.by, below: f(keys.below[k], &self.below), ends: f(keys.ends[k], &self.ends) }
    }
}

impl<N> Slow<N> {
    fn map<M>(&self, keys: &ThresholdKeys, speed: [&str; 2], f: &mut impl FnMut(&str, &N) -> M) -> Slow<M> {
        Slow {
            when: self.when.map(keys, f),
            speed: match &self.speed {
                Speed::Share(n) => Speed::Share(f(speed[0], n)),
                Speed::Voltage(n) => Speed::Voltage(f(speed[1], n)),
            },
        }
    }
}
