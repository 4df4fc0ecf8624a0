//! A plan of care in words, and the lives of the parts that it is for.

use crate::design::{Design, MountKind, PumpKind, Winter};
use crate::units::Uncertain;

/// A line for each thing that somebody does or does not do.
pub(super) fn lines(design: &Design<Uncertain>) -> Vec<String> {
    let care = design.care;
    let moves = design.mount.kind != MountKind::Fixed;
    let failed = |part: &str, after: Option<u16>| match after {
        Some(days) => format!("A {part} that fails is replaced after {days} days."),
        None => format!("Nobody replaces a {part} that fails."),
    };
    let mut lines = vec![failed("pump", care.replace_pump_after_days)];
    lines.extend(moves.then(|| failed("mount", care.replace_mount_after_days)));
    if design.battery.is_some() {
        if let Some(share) = care.replace_battery_below {
            lines.push(format!("Before a season a battery is replaced that holds less than {:.0} % of what it held when new.", 100.0 * share));
        }
        if let Some(years) = care.replace_battery_every_years {
            let unit = if years == 1.0 { "year" } else { "years" };
            lines.push(format!("Before a season a battery is replaced that is {years} {unit} old."));
        }
        if care.replace_battery_below.is_none() && care.replace_battery_every_years.is_none() {
            lines.push("Nobody replaces the battery.".to_owned());
        }
    }
    if let Some(days) = care.clean_panel_every_days {
        lines.push(format!("In season the panel is cleaned every {days} days; each time is a visit."));
    }
    lines.extend(winter(design));
    lines
}

/// How long the parts live that somebody may replace.
pub(super) fn lives_of_parts(design: &Design<Uncertain>) -> Vec<String> {
    let moves = design.mount.kind != MountKind::Fixed;
    std::iter::once(pump_life(design)).chain(moves.then(|| mount_life(design))).collect()
}

/// What happens between two seasons; none where the season is all year.
fn winter(design: &Design<Uncertain>) -> Option<String> {
    if design.wish.days().count() >= 365 {
        return None;
    }
    let line = match design.care.winter {
        Winter::LeftOut => {
            "Between two seasons all stays out, with the pump off; the basin is filled before the next one."
        }
        Winter::TakenIn => {
            "Between two seasons panel, mount, battery and pump are indoors at 15 °C, until 20 days before the next one; taking in and putting out are visits."
        }
    };
    Some(line.to_owned())
}

fn pump_life(design: &Design<Uncertain>) -> String {
    match (design.pump.rated_hours, design.pump.kind) {
        (Some(hours), _) => format!("Half of all pumps fail within their rated {hours:.0} h."),
        (None, PumpKind::Brushed) => {
            "Half of all brushed pumps fail within 3,000 h (own choice; rate it with `pump.rated_hours`)."
                .to_owned()
        }
        (None, PumpKind::Electronic) => {
            "Half of all brushless pumps fail within 15,000 h (own choice; rate it with `pump.rated_hours`)."
                .to_owned()
        }
    }
}

fn mount_life(design: &Design<Uncertain>) -> String {
    match (design.mount.rated_hours, design.mount.rated_moves) {
        (Some(hours), _) => format!("Half of all mounts fail before their motors have run the rated {hours:.0} h."),
        (None, Some(moves)) => format!("Half of all mounts fail within their rated {moves:.0} moves."),
        (None, None) => "Half of all mounts fail before their motors have run 500 h; of some makes 260 h, of others 950 h \
                         (common practice, no source; rate it with `mount.rated_hours` or `mount.rated_moves`)."
            .to_owned(),
    }
}
