//! One day as a kernel: its lanes, hour by hour and minute by minute.
//!
//! Minutes between [`SceneDay::step_from`] and [`SceneDay::step_to`] are stepped; before and after them the battery rests in
//! closed form.
//!
//! [`SceneDay::step_from`]: crate::plant::SceneDay::step_from
//! [`SceneDay::step_to`]: crate::plant::SceneDay::step_to

use super::input::DayInput;
use super::lanes::DayLanes;
use super::ledger;
use super::probe::Probe;
use crate::lanes::{Kernel, Lane};
use crate::plant::record::DayBlock;
use crate::plant::state::State;
use crate::plant::surface::SurfaceDay;
use std::ops::Range;

/// One day of a block's units.
pub(crate) struct DayKernel<'a, P> {
    pub input: DayInput<'a>,
    /// The lanes that are stepped, a multiple of the vector's; the others stay as they are.
    pub lanes: Range<usize>,
    /// What lies on the panels; `None` where nothing comes and goes.
    pub surface: Option<&'a SurfaceDay>,
    pub state: &'a mut State,
    pub out: &'a mut DayBlock,
    pub probe: &'a mut P,
}

impl<P: Probe> Kernel for DayKernel<'_, P> {
    type Out = ();
    // Traces are checked against the plain kernel alone.
    const IN_DOUBLE: bool = !P::WHOLE_DAY;
    #[inline(always)]
    fn run<V: Lane>(self) {
        let DayKernel { input, lanes, surface, state, out, probe } = self;
        let day = &input.scene.days[input.index];
        out.clear(input.units.batteries.is_some());
        for at in lanes.step_by(V::N) {
            let mut lanes = DayLanes::<V>::morning(input, surface, state, at);
            for hour in 0..24 {
                let (from, to) = (60 * hour, 60 * hour + 60);
                let (step_from, step_to) = (day.step_from.clamp(from, to), day.step_to.clamp(from, to));
                let mut now = lanes.hour(hour);
                if P::WHOLE_DAY {
                    probe.hour(at, &lanes.hour_view(&now));
                }
                rest(&mut lanes, from, step_from, out, probe);
                for minute in step_from..step_to {
                    lanes.minute(&mut now, minute, out, probe);
                }
                rest(&mut lanes, step_to, to, out, probe);
                lanes.hour_water(hour, &now, out);
                lanes.hour_snow(hour, &now, out);
                now.sums.close(hour, out, at);
            }
            lanes.close(state, out);
        }
        ledger::close(out);
    }
}

/// The battery over minutes that are not stepped, seen by the probe at both ends.
#[inline(always)]
fn rest<V: Lane, P: Probe>(
    lanes: &mut DayLanes<'_, V>,
    from: usize,
    to: usize,
    out: &mut DayBlock,
    probe: &mut P,
) {
    if !P::WHOLE_DAY || from >= to {
        lanes.rest(from, to, out);
        return;
    }
    let before = lanes.rest_view();
    lanes.rest(from, to, out);
    probe.rest(lanes.given.at, from..to, &before, &lanes.rest_view());
}
