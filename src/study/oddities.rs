//! What looks odd in the numbers of a run: a design that was accepted, but hardly does what it is for.
//!
//! What can be seen without simulating is in `design` (labels that do not go together) and in [`Plan::warnings`]
//! (direction of the panel).

use super::plan::Plan;
use crate::design::{MountKind, TopUp};
use crate::plant::Cause;
use crate::tally::Summary;

/// Moves a day below which a mount is said not to turn: a working one makes several on every bright day (common
/// practice, no source).
const FEW_MOVES_A_DAY: f64 = 0.2;
/// Share of the wanted minutes lost to low water from which it is worth a warning.
const MUCH_LOW_WATER: f64 = 0.05;

/// Warnings that follow from the numbers of a run.
pub(super) fn oddities(plan: &Plan, summary: &Summary) -> Vec<String> {
    [never_runs(summary), never_turns(plan, summary), runs_dry(plan, summary), pump_in_ice(plan, summary)]
        .into_iter()
        .flatten()
        .collect()
}

fn never_runs(s: &Summary) -> Option<String> {
    let wanted = s.season.wanted_min > 0.0;
    (wanted && s.season.jet_min.mean == 0.0).then(|| {
        let cause = s.season.causes_min.iter().max_by(|a, b| a.1.total_cmp(b.1));
        let why = cause.map_or(String::new(), |(key, _)| format!("; most often: {}", key.replace('_', " ")));
        format!("the jet never ran in {} trials{why}", s.run.trials)
    })
}

fn never_turns(plan: &Plan, s: &Summary) -> Option<String> {
    let mount = &plan.file.design.mount;
    let stuck_by_wish = mount.stuck_from_day.is_some();
    let moves = s.wear.mount_moves_per_day.filter(|m| *m < FEW_MOVES_A_DAY && !stuck_by_wish)?;
    let what = match mount.kind {
        MountKind::LightSeeking => "its motors may stall, or its head may see too little light",
        MountKind::SunFollowing | MountKind::Fixed => "its motors may stall",
    };
    Some(format!(
        "the mount hardly ever turns ({moves:.2} moves a day): {what}; it needs {:.1} V and {:.0} mA to turn",
        mount.lowest_voltage_v.nominal,
        1000.0 * mount.motor_current_a.nominal
    ))
}

fn pump_in_ice(plan: &Plan, s: &Summary) -> Option<String> {
    let hours = s.water.intake_iced_h_per_year?.mean;
    let intake_m = plan.file.design.water.ice?.intake_m.nominal;
    Some(format!(
        "ice reaches the pump's intake, {:.0} cm deep, for {hours:.0} h a season: ice blocks the impeller and cracks the \
         housing; take the pump in before (`taken_in` in [water]), or set it deeper",
        100.0 * intake_m
    ))
}

fn runs_dry(plan: &Plan, s: &Summary) -> Option<String> {
    let lost = s.season.causes_min.get(Cause::LowWater.key()).copied().unwrap_or_default();
    let share = lost / s.season.wanted_min;
    if share.is_nan() || share < MUCH_LOW_WATER {
        return None;
    }
    let water = &plan.file.design.water;
    let filled = match water.top_up {
        TopUp::Always => return None,
        TopUp::Every(1) => "is refilled every day".to_owned(),
        TopUp::Every(days) => format!("is refilled every {days} days"),
        TopUp::Rain => "is refilled by rain alone".to_owned(),
    };
    Some(format!(
        "the basin is at low water in {:.0} % of the wanted time: it loses {:.1} L a day, holds {:.1} L above the \
         low-water mark, and {filled}",
        100.0 * share,
        s.water.litres_per_week.mean / 7.0,
        water.usable_l.nominal
    ))
}
