//! `[running]`: the rules by which timer, light switch or controller let the pump run.

use super::control::Control;
use super::wish::DayTime;

/// When the pump is let run.
#[derive(Clone, Debug, PartialEq)]
pub struct Running<N> {
    /// What lets it run.
    pub when: RunsWhen,
    /// Start and end of the hours a timer is set to; of use only with [`RunsWhen::Timer`].
    pub hours: (DayTime, DayTime),
    /// Light on the panel from which a light switch lets it run, W/m².
    pub light_w_m2: N,
    /// What a controller does beside that.
    pub control: Control<N>,
}

/// What lets the pump run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RunsWhen {
    /// A timer that is set to the wanted hours.
    Wanted,
    /// Nothing holds it back.
    Always,
    /// A light switch: while it is light.
    Light,
    /// A timer with hours of its own.
    Timer,
}

impl<N> Running<N> {
    pub(in crate::design) fn map<M>(&self, f: &mut impl FnMut(&str, &N) -> M) -> Running<M> {
        Running {
            when: self.when,
            hours: self.hours,
            light_w_m2: f("running.light", &self.light_w_m2),
            control: self.control.map(f),
        }
    }
}
