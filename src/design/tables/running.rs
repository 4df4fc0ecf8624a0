//! `[running]`: when the pump is let run, and whether the wish can be met in that time.

use super::control::{Beside, Controlled, control};
use super::hours::hours;
use crate::design::parts::{DayTime, Running, RunsWhen, Wish};
use crate::design::reader::DesignReader;
use crate::units::Uncertain;

const HOURS: &str = "running.hours";
const WHEN: &str = "running.when";

pub(in crate::design) fn running(
    r: &mut DesignReader<'_>,
    wish: Option<&Wish<Uncertain>>,
    parts: Controlled<'_>,
) -> Option<Running<Uncertain>> {
    let rule = match (r.given(HOURS), r.given("battery")) {
        (true, _) => RunsWhen::Timer,
        (false, true) => RunsWhen::Wanted,
        (false, false) => RunsWhen::Always,
    };
    let when = r.word(WHEN, Some(rule));
    let timer = when == Some(RunsWhen::Timer);
    if timer && !r.given(HOURS) {
        let span = r.value(WHEN).map_or(0..0, |v| v.span());
        r.error(span, "a timer needs hours", "", "add hours = \"10:00 to 23:00\" in [running]");
    }
    let set_to = if r.given(HOURS) { hours(r, HOURS, "hours of the pump") } else { None };
    let light = r.quantity("running.light");
    let wish = wish?;
    let (when, set_hours) = (when?, set_to.unwrap_or((wish.from, wish.to)));
    let let_run = matches!(when, RunsWhen::Wanted | RunsWhen::Timer).then_some(set_hours);
    let control = control(r, &Beside { wish, parts, hours: let_run });
    let running = Running { when, hours: set_hours, light_w_m2: light?, control: control? };
    dusk_run_fits(r, wish, &running);
    (!r.given(HOURS) || set_to.is_some()).then_some(running)
}

/// Warns of a dusk run that is longer than the pump is let run after sunset. Where the hours end by the clock this depends on
/// the place, and is looked at when that is known.
fn dusk_run_fits(r: &mut DesignReader<'_>, wish: &Wish<Uncertain>, running: &Running<Uncertain>) {
    let Some(span) = r.value("wish.dusk_run").map(|v| v.span()) else { return };
    let asked = wish.dusk_run_min;
    let (end, whose, cure) = match running.when {
        RunsWhen::Always if r.given("battery") => return,
        // Without a battery evenings are looked at in the wanted hours.
        RunsWhen::Wanted | RunsWhen::Always => (
            wish.to,
            "the wanted hours end",
            "let `hours` end later, wish for a shorter dusk run, or let the pump run longer (`when` in [running])",
        ),
        RunsWhen::Timer => {
            (running.hours.1, "the timer ends", "let the timer end later, or wish for a shorter dusk run")
        }
        RunsWhen::Light => (
            DayTime::Sunset(0.0),
            "the light switch stops the pump",
            "let a timer run the pump, or wish for no dusk run",
        ),
    };
    let DayTime::Sunset(shift) = end else { return };
    let after = shift.max(0.0);
    if asked > after {
        let title = format!("the jet cannot reach the wished dusk run of {asked} min");
        r.warn(span, title, &format!("{whose} {after} min after sunset"), cure);
    }
}
