//! The rules by which the pump is let run in a minute.

use super::lanes::{DayLanes, HourLanes};
use super::minute_parts::{MinuteLight, MinuteWish};
use crate::design::RunsWhen;
use crate::lanes::{Lane, Mask};
use crate::plant::record::RuleAtWork;
use crate::plant::rules::{RuleView, Ruled};

/// A light switch stops the pump below this share of the light from which it lets it run (common practice, no source).
const DARK_SHARE: f64 = 0.5;

impl<V: Lane> DayLanes<'_, V> {
    /// A light switch sees the light of the minute.
    #[inline(always)]
    pub(super) fn light_switch(&mut self, light: &MinuteLight<'_, V>) {
        let rules = &self.given.input.units.rules;
        if rules.when != RunsWhen::Light {
            return;
        }
        let on_w_m2 = V::of(&rules.light_w_m2, self.given.at);
        let seen = light.plane_w_m2;
        let dark = seen.lt(on_w_m2 * V::splat(DARK_SHARE));
        self.state.lit = (self.state.lit | seen.ge(on_w_m2)) & !dark;
    }

    /// Share of a minute in which clock, light and rain let the pump run, 0..=1.
    #[inline(always)]
    pub(super) fn let_run(&self, hour: &HourLanes<V>, minute: usize) -> V {
        let by_clock = V::splat(self.given.day.run_share(minute));
        let let_run = match self.given.input.units.rules.when {
            RunsWhen::Wanted | RunsWhen::Always | RunsWhen::Timer => by_clock,
            RunsWhen::Light => V::only(self.state.lit, by_clock),
        };
        match self.given.input.units.rules.rain_off_mm {
            Some(_) => V::only(!hour.rainy, let_run),
            None => let_run,
        }
    }

    /// The rules of a controller see the minute.
    #[inline(always)]
    pub(super) fn control(&mut self, light: &MinuteLight<'_, V>, wish: &mut MinuteWish<V>) {
        let Some(control) = &self.given.input.units.rules.control else { return };
        let day = self.given.day;
        let on_target = match (&wish.turn, &light.sun) {
            (Some(turn), Some(_)) => !(turn.wish | light.resting),
            _ => V::Mask::splat(false),
        };
        let (charge, volts) = match &self.battery {
            Some(battery) => (battery.soc(&self.state), self.state.bus_v),
            None => (V::splat(1.0), self.state.bus_v),
        };
        let now_min = wish.minute as f64;
        let seen = RuleView {
            charge,
            volts,
            on_target,
            morning: light.sun.is_some() && now_min < day.hold_to,
            before_evening: now_min < day.reserve_to,
        };
        wish.ruled = control.minute(&mut self.state, &seen, self.given.at);
        wish.let_run = V::only(!wish.ruled.held, wish.let_run);
    }

    /// Number of the rule at work in a minute, for a probe.
    #[inline(always)]
    pub(super) fn rule_at_work(&self, hour: &HourLanes<V>, wish: &MinuteWish<V>) -> V {
        let units = self.given.input.units;
        let off_by_clock = self.given.day.run_share(wish.minute) == 0.0;
        let mut first: Ruled<V> = Ruled::none();
        if units.rules.rain_off_mm.is_some() {
            first.at_work(hour.rainy, RuleAtWork::Rain);
        }
        match units.rules.when {
            RunsWhen::Light => first.at_work(!self.state.lit, RuleAtWork::Light),
            RunsWhen::Timer | RunsWhen::Wanted => {
                first.at_work(V::Mask::splat(off_by_clock), RuleAtWork::Hours);
            }
            RunsWhen::Always => {}
        }
        V::select(first.by.gt(V::splat(0.5)), first.by, wish.ruled.by)
    }
}
