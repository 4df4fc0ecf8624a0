//! One day of one trial as a strip of marks.

use super::screen::Screen;
use super::wrap::{ascii, pad};
use crate::plant::{Cause, DayTrace, RuleAtWork, TraceMinute};
use crate::report::style::{Style, height};
use crate::report::{number, words};
use crate::units::System;

/// The day as rows of marks over a clock, one column for a few minutes.
pub fn day(trace: &DayTrace, cautions: &[String], style: Style) -> String {
    let shown = trace.waking();
    let Some((first, last)) = shown.first().zip(shown.last()) else {
        return "No minute of this day was simulated.\n".to_owned();
    };
    let (from, to) = (usize::from(first.minute), usize::from(last.minute) + 1);
    let room = style.columns().saturating_sub(NAME_COLUMNS + NOTE_COLUMNS).max(12);
    let every = (to - from).div_ceil(room).max(1);
    let strip = Strip { trace, shown, style, from, every, columns: (to - from).div_ceil(every) };
    let mut screen = Screen::new(style);
    let title = words::escaped(&trace.label);
    let head = format!("{title}: {}, trial {}", words::date(trace.day_of_year), trace.trial);
    screen.line(&screen.encoded(&head));
    screen.wrapped("", &sun_line(trace));
    if let Some(lies) = &trace.on_panel {
        screen.wrapped("", &words::on_panel(lies));
    }
    screen.blank();
    screen.line(&strip.clock_row());
    strip.plot("on panel", |m| Some(m.plane_w_m2), 1000.0, "1000 W/m²").iter().for_each(|l| screen.line(l));
    screen.line(&strip.level("beam", |m| Some(m.dni_w_m2), 1000.0, "of 1000 W/m²"));
    screen.line(&strip.level("diffuse", |m| Some(m.dhi_w_m2), 500.0, "of 500 W/m²"));
    if trace.minutes.iter().any(|m| m.off_aim_deg.is_some()) {
        screen.line(&strip.level("off aim", |m| m.off_aim_deg, 90.0, "of 90°"));
    }
    if trace.minutes.iter().any(|m| m.hunts) {
        screen.line(&strip.marks("hunts", |ms| if ms.iter().any(|m| m.hunts) { '~' } else { ' ' }));
    }
    if trace.minutes.iter().any(|m| m.soc.is_some()) {
        strip.plot("charge", |m| m.soc, 1.0, "full").iter().for_each(|l| screen.line(l));
    }
    let highest = trace.minutes.iter().map(|m| m.jet_m).fold(0.0, f64::max);
    if highest > 0.0 {
        let (h, unit) = height(highest, style.units);
        let decimals = usize::from(style.units == System::Us);
        screen.line(&strip.level(
            "jet",
            |m| Some(m.jet_m * m.duty),
            highest,
            &format!("of {} {unit}", number::fixed(h, decimals)),
        ));
    }
    screen.line(&strip.marks("wanted", |ms| if ms.iter().any(|m| m.wanted) { '-' } else { ' ' }));
    let jet = if style.unicode { '█' } else { '#' };
    screen.line(&strip.marks("counts", |ms| counted_mark(ms, jet)));
    let thickest = trace.minutes.iter().filter_map(|m| m.ice_m).fold(0.0, f64::max);
    if thickest > 0.0 {
        screen.line(&strip.level("ice", |m| m.ice_m, thickest, &format!("of {:.0} mm", 1000.0 * thickest)));
    }
    let slow = |m: &TraceMinute| m.duty > 0.0 && m.rule.is_some_and(|r| !r.holds());
    if trace.minutes.iter().any(slow) {
        screen.line(&strip.marks("slower", |ms| if ms.iter().any(slow) { '-' } else { ' ' }));
    }
    let (row, legend) = strip.causes();
    if !legend.is_empty() {
        screen.line(&row);
        screen.blank();
        screen.wrapped("", &format!("Causes: {}.", legend.join(", ")));
    }
    if !cautions.is_empty() {
        screen.blank();
        screen.cautions(cautions);
    }
    screen.out
}

const NAME_COLUMNS: usize = 10;
const NOTE_COLUMNS: usize = 14;

fn counted_mark(minutes: &[TraceMinute], jet: char) -> char {
    let counted = minutes.iter().filter(|m| m.counted).count();
    match counted {
        0 => ' ',
        n if n * 2 >= minutes.len() => jet,
        _ => '.',
    }
}

fn sun_line(trace: &DayTrace) -> String {
    let at = |m: Option<f64>| m.map_or("none".to_owned(), |m| words::clock(trace, m));
    let wanted = trace.minutes.iter().filter(|m| m.wanted).count();
    let counted = trace.minutes.iter().filter(|m| m.counted && m.wanted).count();
    let jet = match wanted {
        0 => "Nothing is wanted on this day.".to_owned(),
        _ => format!("Jet in {counted} of {wanted} wanted minutes."),
    };
    format!("Sunrise {}, sunset {} (standard time). {jet}", at(trace.sunrise_min), at(trace.sunset_min))
}

struct Strip<'a> {
    trace: &'a DayTrace,
    /// The minutes that are shown.
    shown: &'a [TraceMinute],
    style: Style,
    from: usize,
    every: usize,
    columns: usize,
}

impl Strip<'_> {
    fn cell(&self, column: usize) -> &[TraceMinute] {
        let start = column * self.every;
        let end = (start + self.every).min(self.shown.len());
        self.shown.get(start..end).unwrap_or(&[])
    }

    fn clock_row(&self) -> String {
        let mut row = vec![' '; self.columns + 3];
        // An hour mark needs three columns; every second or third hour where they are tight.
        let hours = (4 * self.every).div_ceil(60).max(1) * 60;
        let offset = i64::from(self.trace.day_start_h) * 60;
        for column in 0..self.columns {
            let start = (self.from + column * self.every) as i64 + offset;
            let end = start + self.every as i64;
            let mark = end.div_euclid(hours as i64) * hours as i64;
            if mark >= start && mark < end || start.rem_euclid(hours as i64) == 0 {
                let at = if start.rem_euclid(hours as i64) == 0 { start } else { mark };
                let label = format!("{:02}", at.div_euclid(60).rem_euclid(24));
                for (k, c) in label.chars().enumerate() {
                    row[column + k] = c;
                }
            }
        }
        format!("{:NAME_COLUMNS$}{}", "clock", row.into_iter().collect::<String>().trim_end())
    }

    /// Mean of a column's minutes as a share of `full`; `None` where no minute has the value.
    fn share(&self, column: usize, value: &impl Fn(&TraceMinute) -> Option<f64>, full: f64) -> Option<f64> {
        let values: Vec<f64> = self.cell(column).iter().filter_map(value).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64 / full)
    }

    fn note(&self, text: &str) -> String {
        if self.style.unicode { text.to_owned() } else { ascii(text) }
    }

    /// A row of levels by shade.
    fn level(
        &self,
        name: &str,
        value: impl Fn(&TraceMinute) -> Option<f64>,
        full: f64,
        note: &str,
    ) -> String {
        let ramp: &[char] =
            if self.style.unicode { &[' ', '░', '▒', '▓', '█'] } else { &[' ', '.', ':', 'o', '#'] };
        let top = ramp.len() - 1;
        let mark = |column| match self.share(column, &value, full) {
            None => ' ',
            Some(share) => {
                let step = (share * top as f64).round().clamp(0.0, top as f64) as usize;
                // Anything above nothing shows.
                ramp[if share > 0.02 { step.max(1) } else { step }]
            }
        };
        let marks: String = (0..self.columns).map(mark).collect();
        format!("{name:NAME_COLUMNS$}{} {}", pad(&marks, self.columns), self.note(note))
    }

    /// Four rows of columns, each row in two halves.
    fn plot(
        &self,
        name: &str,
        value: impl Fn(&TraceMinute) -> Option<f64>,
        full: f64,
        top: &str,
    ) -> Vec<String> {
        const ROWS: usize = 4;
        let (half, solid) = if self.style.unicode { ('▄', '█') } else { ('.', ':') };
        let halves: Vec<usize> = (0..self.columns)
            .map(|c| {
                let share = self.share(c, &value, full).unwrap_or(0.0);
                let n = (share * 2.0 * ROWS as f64).round().clamp(0.0, 2.0 * ROWS as f64) as usize;
                if share > 0.02 { n.max(1) } else { n }
            })
            .collect();
        (0..ROWS)
            .map(|row| {
                let below = 2 * (ROWS - 1 - row);
                let marks: String = halves
                    .iter()
                    .map(|n| match n.saturating_sub(below) {
                        0 => ' ',
                        1 => half,
                        _ => solid,
                    })
                    .collect();
                let lead = if row == ROWS - 1 { name } else { "" };
                let note = match row {
                    0 => self.note(top),
                    r if r == ROWS - 1 => "0".to_owned(),
                    _ => String::new(),
                };
                format!("{lead:NAME_COLUMNS$}{} {note}", pad(&marks, self.columns))
            })
            .collect()
    }

    fn marks(&self, name: &str, mark: impl Fn(&[TraceMinute]) -> char) -> String {
        let marks: String = (0..self.columns).map(|c| mark(self.cell(c))).collect();
        format!("{name:NAME_COLUMNS$}{marks}")
    }

    /// The commonest cause of each column as a letter, and what the letters mean.
    fn causes(&self) -> (String, Vec<String>) {
        let mut used = [false; Cause::COUNT];
        let row = self.marks_mut("cause", |minutes| {
            let mut counts = [0_usize; Cause::COUNT];
            for cause in minutes.iter().filter_map(|m| m.cause) {
                counts[cause as usize] += 1;
            }
            let (best, n) = counts.iter().enumerate().rev().max_by_key(|(_, n)| **n).unwrap_or((0, &0));
            if *n == 0 {
                return ' ';
            }
            used[best] = true;
            words::letter(Cause::ALL[best])
        });
        let legend = Cause::ALL
            .into_iter()
            .filter(|c| used[*c as usize])
            .map(|c| format!("{} {}{}", words::letter(c), c.words(), self.rules_of(c)))
            .collect();
        (row, legend)
    }

    /// In brackets: which rules held the pump back in the minutes of that cause.
    fn rules_of(&self, cause: Cause) -> String {
        if cause != Cause::HeldBack {
            return String::new();
        }
        let acted = |rule: &RuleAtWork| {
            self.shown.iter().any(|m| m.cause == Some(cause) && m.rule == Some(*rule) && rule.holds())
        };
        let names: Vec<&str> = RuleAtWork::ALL.into_iter().filter(acted).map(|rule| rule.words()).collect();
        if names.is_empty() { String::new() } else { format!(" ({})", names.join("; ")) }
    }

    fn marks_mut(&self, name: &str, mut mark: impl FnMut(&[TraceMinute]) -> char) -> String {
        let marks: String = (0..self.columns).map(|c| mark(self.cell(c))).collect();
        format!("{name:NAME_COLUMNS$}{marks}")
    }
}
