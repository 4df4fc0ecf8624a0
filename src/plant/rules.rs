//! The rules by which the pumps of a block are let run, and what they decide in a minute.
//!
//! A rule of a controller acts from below a value until another one is reached (a latch), so it changes at most once a minute.
//! The first of [`RuleAtWork`] that acts is the one at work. Rules act on what the last minute left: charge, and voltage under load.

use super::record::RuleAtWork;
use super::record::rows::rows;
use super::state::StateLanes;
use crate::design::{self, Design, Measure, RunsWhen, Speed, Threshold};
use crate::lanes::{BLOCK, Lane, Mask, RowF64};

/// Minutes a mount must stand within its dead band to count as settled (common practice, no source).
const SETTLED_MIN: f64 = 5.0;
/// A voltage that no pump is given, V.
const NO_CAP_V: f64 = 1e6;

/// The rules of a block.
#[derive(Clone, Debug)]
pub(crate) struct Rules {
    /// What lets the pump run; hours are those of the scene.
    pub when: RunsWhen,
    /// Light on the panel from which a light switch lets it run, W/m².
    pub light_w_m2: RowF64,
    /// Rain of an hour from which the pump is off, mm.
    pub rain_off_mm: Option<f64>,
    /// Rules that go by the battery, the mount or the hour.
    pub control: Option<Control>,
}

/// Rules that go by the battery, the mount or the hour.
#[derive(Clone, Debug)]
pub(crate) struct Control {
    slow: Option<Slow>,
    slower: Option<Slow>,
    rest: Option<Rest>,
    hold: Option<Hold>,
    reserve: Option<Gate>,
}

rows! {
    /// Where a rule acts and ends: charge (share) or voltage (V).
    GateRows / GateUnit {
        /// Below this it acts ...
        below,
        /// ... until this is reached.
        ends,
    }
}

/// A rule that acts below a value.
#[derive(Clone, Debug)]
struct Gate {
    by: Measure,
    rows: GateRows,
}

rows! {
    /// How slow a pump runs.
    SpeedRows / SpeedUnit {
        /// Share of its voltage that it gets.
        share,
        /// Highest voltage that it gets, V.
        cap_v,
    }
}

#[derive(Clone, Debug)]
struct Slow {
    gate: Gate,
    rows: SpeedRows,
}

#[derive(Clone, Debug)]
struct Rest {
    gate: Gate,
    on_min: f64,
    period_min: f64,
}

#[derive(Clone, Debug)]
struct Hold {
    until: Option<(Measure, RowF64)>,
    for_mount: bool,
}

/// What the rules go by in a minute.
#[derive(Clone, Copy, Debug)]
pub(crate) struct RuleView<V: Lane> {
    /// State of charge, share, and voltage of the battery, V.
    pub charge: V,
    pub volts: V,
    /// The mount is within its dead band, and sees enough light to say so.
    pub on_target: V::Mask,
    /// The sun is up, and it is not yet the hour at which the hold of the morning ends.
    pub morning: bool,
    /// It is not yet the hour from which the reserve may be used.
    pub before_evening: bool,
}

/// What the rules decide.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ruled<V: Lane> {
    /// They hold the pump back.
    pub held: V::Mask,
    /// Share of its voltage that the pump gets, and the highest voltage, V.
    pub speed: V,
    pub cap_v: V,
    /// Number of the rule at work ([`RuleAtWork::number`]); 0: none.
    pub by: V,
}

impl Rules {
    /// Of 16 drawn designs of one structure.
    pub(crate) fn new(designs: &[&Design<f64>]) -> Rules {
        let mut light_w_m2 = RowF64::default();
        for (row, d) in light_w_m2.0.iter_mut().zip(designs.iter().take(BLOCK)) {
            *row = d.running.light_w_m2;
        }
        let first = &designs[0].running;
        let control = first.control.acts().then(|| Control::new(designs));
        Rules { when: first.when, light_w_m2, rain_off_mm: first.control.rain_off_mm, control }
    }
}

impl<V: Lane> Ruled<V> {
    /// No rule is at work.
    #[inline(always)]
    pub(crate) fn none() -> Self {
        let c = V::splat;
        Ruled { held: V::Mask::splat(false), speed: c(1.0), cap_v: c(NO_CAP_V), by: c(0.0) }
    }

    /// This rule is at work where `here` says so, and none before it in the order.
    #[inline(always)]
    pub(crate) fn at_work(&mut self, here: V::Mask, rule: RuleAtWork) {
        self.by = V::select(here & self.by.lt(V::splat(0.5)), V::splat(rule.number()), self.by);
    }
}

impl Control {
    fn new(designs: &[&Design<f64>]) -> Control {
        let first = &designs[0].running.control;
        let slow = |of: fn(&design::Control<f64>) -> &Option<design::Slow<f64>>| {
            of(first).as_ref().map(|s| Slow {
                gate: Gate::new(s.when.by, designs, |c| of(c).as_ref().map(|s| &s.when)),
                rows: speeds(designs, of),
            })
        };
        Control {
            slow: slow(|c| &c.slow),
            slower: slow(|c| &c.slower),
            rest: first.rest.as_ref().map(|r| Rest {
                gate: Gate::new(r.when.by, designs, |c| c.rest.as_ref().map(|r| &r.when)),
                on_min: r.on_min,
                period_min: r.on_min + r.off_min,
            }),
            hold: first.hold.as_ref().map(|h| Hold {
                until: h.until.map(|(by, _)| {
                    let mut row = RowF64::default();
                    for (row, d) in row.0.iter_mut().zip(designs) {
                        *row = d.running.control.hold.and_then(|h| h.until).map_or(0.0, |(_, level)| level);
                    }
                    (by, row)
                }),
                for_mount: h.for_mount,
            }),
            reserve: first
                .reserve
                .as_ref()
                .map(|r| Gate::new(r.when.by, designs, |c| c.reserve.as_ref().map(|r| &r.when))),
        }
    }

    /// Steps the rules by a minute.
    #[inline(always)]
    pub(crate) fn minute<V: Lane>(&self, now: &mut StateLanes<V>, seen: &RuleView<V>, at: usize) -> Ruled<V> {
        let mut ruled = Ruled::none();
        if let Some(gate) = &self.reserve {
            now.reserving = gate.step(now.reserving, seen, at);
            if seen.before_evening {
                ruled.hold(now.reserving, RuleAtWork::Reserve);
            }
        }
        if let Some(hold) = &self.hold {
            hold.step(now, seen, at);
            if seen.morning {
                ruled.hold(!now.hold_done, RuleAtWork::Hold);
            }
        }
        if let Some(rest) = &self.rest {
            let off = rest.step(now, seen, at);
            ruled.hold(off, RuleAtWork::Rest);
        }
        if let Some(slower) = &self.slower {
            now.slower = slower.gate.step(now.slower, seen, at);
            ruled.slow(now.slower, RuleAtWork::Slower, slower, at);
        }
        if let Some(slow) = &self.slow {
            now.slow = slow.gate.step(now.slow, seen, at);
            ruled.slow(now.slow & !now.slower, RuleAtWork::Slow, slow, at);
        }
        ruled
    }
}

impl<V: Lane> Ruled<V> {
    #[inline(always)]
    fn hold(&mut self, here: V::Mask, rule: RuleAtWork) {
        self.held = self.held | here;
        self.at_work(here, rule);
    }

    #[inline(always)]
    fn slow(&mut self, here: V::Mask, rule: RuleAtWork, slow: &Slow, at: usize) {
        let unit = SpeedUnit::<V>::of(&slow.rows, at);
        self.speed = V::select(here, unit.share, self.speed);
        self.cap_v = V::select(here, unit.cap_v, self.cap_v);
        self.at_work(here, rule);
    }
}

impl Gate {
    fn new<'d>(
        by: Measure,
        designs: &[&'d Design<f64>],
        of: impl Fn(&'d design::Control<f64>) -> Option<&'d Threshold<f64>>,
    ) -> Gate {
        let mut rows = GateRows::default();
        for (lane, d) in designs.iter().enumerate() {
            if let Some(when) = of(&d.running.control) {
                rows.set(lane, GateUnit { below: when.below, ends: when.ends.max(when.below) });
            }
        }
        Gate { by, rows }
    }

    /// Whether the rule acts, given whether it did.
    #[inline(always)]
    fn step<V: Lane>(&self, acts: V::Mask, seen: &RuleView<V>, at: usize) -> V::Mask {
        let GateUnit { below, ends } = GateUnit::<V>::of(&self.rows, at);
        let now = measured(self.by, seen);
        (acts | now.lt(below)) & now.lt(ends)
    }
}

#[inline(always)]
fn measured<V: Lane>(by: Measure, seen: &RuleView<V>) -> V {
    match by {
        Measure::Charge => seen.charge,
        Measure::Voltage => seen.volts,
    }
}

fn speeds(
    designs: &[&Design<f64>],
    of: fn(&design::Control<f64>) -> &Option<design::Slow<f64>>,
) -> SpeedRows {
    let mut rows = SpeedRows::default();
    for (lane, d) in designs.iter().enumerate() {
        let unit = match of(&d.running.control).as_ref().map(|s| s.speed) {
            Some(Speed::Share(share)) => SpeedUnit { share, cap_v: NO_CAP_V },
            Some(Speed::Voltage(cap_v)) => SpeedUnit { share: 1.0, cap_v },
            None => SpeedUnit { share: 1.0, cap_v: NO_CAP_V },
        };
        rows.set(lane, unit);
    }
    rows
}

impl Rest {
    /// Whether the pump rests in this minute. A spell begins with running.
    #[inline(always)]
    fn step<V: Lane>(&self, now: &mut StateLanes<V>, seen: &RuleView<V>, at: usize) -> V::Mask {
        let c = V::splat;
        let acts = self.gate.step(now.resting, seen, at);
        let next = now.rest_min + c(1.0);
        let next = V::select(next.ge(c(self.period_min)), c(0.0), next);
        now.rest_min = V::only(acts & now.resting, next);
        now.resting = acts;
        acts & now.rest_min.ge(c(self.on_min))
    }
}

impl Hold {
    #[inline(always)]
    fn step<V: Lane>(&self, now: &mut StateLanes<V>, seen: &RuleView<V>, at: usize) {
        if !seen.morning {
            return;
        }
        if let Some((by, level)) = &self.until {
            now.hold_done = now.hold_done | measured(*by, seen).ge(V::of(level, at));
        }
        if self.for_mount {
            now.settled_min = V::only(seen.on_target, now.settled_min + V::splat(1.0));
            now.hold_done = now.hold_done | now.settled_min.ge(V::splat(SETTLED_MIN));
        }
    }
}
