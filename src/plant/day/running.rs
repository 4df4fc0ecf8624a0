//! The rules by which the pump is let run in a minute.

use super::lanes::DayLanes;
use super::minute_parts::MinuteLight;
use crate::design::RunsWhen;
use crate::lanes::Lane;

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

    /// Share of a minute in which the rules let the pump run, 0..=1.
    #[inline(always)]
    pub(super) fn let_run(&self, minute: usize) -> V {
        let by_clock = V::splat(self.given.day.run_share(minute));
        match self.given.input.units.rules.when {
            RunsWhen::Wanted | RunsWhen::Always | RunsWhen::Timer => by_clock,
            RunsWhen::Light => V::only(self.state.lit, by_clock),
        }
    }
}
