//! Numbers to text for a terminal: the verdict first, then a month table, then what lies behind it.

mod choose;
mod compare;
mod grid;
mod remedies;

pub use choose::{
    OPEN as CHOOSE_OPEN, answer as choose_answer, choose, good as choose_good, limits as choose_limits,
    next as choose_next, open as choose_open, refused as choose_refused, settled as choose_settled,
    wish as choose_wish,
};
pub use compare::compare;
pub use grid::grid;
pub use remedies::{remedies, settled as remedies_settled, verdict as remedies_verdict};

use super::style::{Style, volume};
use super::{number, words};
use crate::tally::Summary;
use crate::tally::summary::{BatteryUse, Estimate, Month};
use anstyle::{AnsiColor, Color};

pub(super) const BOLD: anstyle::Style = anstyle::Style::new().bold();
pub(super) const DIM: anstyle::Style = anstyle::Style::new().dimmed();
const WATER: anstyle::Style = anstyle::Style::new().fg_color(Some(Color::Ansi(AnsiColor::Cyan)));
const ALERT: anstyle::Style = anstyle::Style::new().fg_color(Some(Color::Ansi(AnsiColor::Yellow)));

/// A run in a dozen lines and a table, ending in a newline.
pub fn run(summary: &Summary, style: Style) -> String {
    let mut page = Page { style, out: String::new() };
    page.heading(summary);
    page.verdict(summary);
    page.months(&summary.months);
    if let Some(battery) = &summary.battery {
        page.item("Battery", &battery_line(battery, style.pm()));
    }
    page.item("Stopped by", &causes_line(summary));
    page.item("Water", &water_line(summary, style));
    page.item("Account", &ledger_line(summary));
    for warning in &summary.warnings {
        page.flagged("Warning", warning);
    }
    for caution in &summary.cautions {
        page.flagged("Caution", caution);
    }
    page.out
}

/// Lines as they are gathered.
pub(super) struct Page {
    pub(super) style: Style,
    pub(super) out: String,
}

impl Page {
    pub(super) fn line(&mut self, text: &str) {
        self.out.push_str(text.trim_end());
        self.out.push('\n');
    }

    fn heading(&mut self, s: &Summary) {
        let trials = format!("{}, seed {}", words::trials(s.run.trials), s.run.seed);
        let title = self.plain(&words::escaped(&s.design.title));
        let room = self.style.columns().saturating_sub(trials.len() + 2);
        let title = cut(&title, room.max(16));
        let gap = " ".repeat(self.style.columns().saturating_sub(width(&title) + trials.len()).max(2));
        let line = format!("{}{gap}{}", self.style.paint(BOLD, &title), self.style.paint(DIM, &trials));
        self.line(&line);
        if s.weather.invented {
            self.wrapped(
                "",
                "The weather is invented: the figures show how the tool works, not how a place is.",
            );
        }
        self.line("");
    }

    fn verdict(&mut self, s: &Summary) {
        let pm = self.style.pm();
        let text = format!(
            "{} {} {}",
            words::still_verdict(s, pm),
            words::dusk_verdict(s, pm),
            words::battery_verdict(s)
        );
        for line in wrap(&self.plain(&text), self.style.columns()) {
            let line = self.style.paint(BOLD, &line);
            self.line(&line);
        }
        self.line("");
    }

    /// Month, mean still days and its error, a bar (full to the mean, light on to P90), P10 to
    /// P90, short days, median dusk run, chief cause.
    fn months(&mut self, months: &[Month]) {
        let columns = Columns::new(self.style.columns());
        let decimals = number::column_decimals(months.iter().map(|m| words::mean_of(&m.still_days)), 2);
        let head = format!(
            "{:4}{:>13} {:bar$}  {:>8} {:>6} {:>8}  {}",
            "",
            "still days",
            "",
            "P10..P90",
            "short",
            "dusk run",
            if columns.cause > 0 { "chief cause" } else { "" },
            bar = columns.bar
        );
        let head = self.style.paint(DIM, head.trim_end());
        self.line(&head);
        let most = months.iter().map(|m| m.still_days.p90.max(m.still_days.mean)).fold(1.0, f64::max);
        for m in months {
            let still = number::estimate_to(words::mean_of(&m.still_days), decimals, self.style.pm());
            let bar = bar(m.still_days.mean / most, m.still_days.p90 / most, columns.bar, self.style.unicode);
            let spread =
                format!("{}..{}", number::fixed(m.still_days.p10, 0), number::fixed(m.still_days.p90, 0));
            let short = number::mean(words::mean_of(&m.short_days), 1);
            let dusk = m
                .dusk_run_min
                .as_ref()
                .map_or("no sunset".to_owned(), |d| format!("{} min", number::fixed(d.p50, 0)));
            let cause = words::chief_cause(m).unwrap_or_default();
            let cause = cut(&self.plain(&cause), columns.cause);
            let line = format!(
                "{:4}{} {}  {spread:>8} {short:>6} {dusk:>8}  {cause}",
                words::month_short(m.month),
                right(&still, 13),
                self.style.paint(WATER, &bar),
            );
            self.line(&line);
        }
        self.line("");
    }

    fn item(&mut self, name: &str, text: &str) {
        self.wrapped(name, text);
    }

    pub(super) fn flagged(&mut self, name: &str, text: &str) {
        let before = self.out.len();
        self.wrapped(name, &words::escaped(text));
        if self.style.colour {
            let painted = self.style.paint(ALERT, name);
            self.out.replace_range(before..before + name.len(), &painted);
        }
    }

    /// Text behind a hanging name of eleven columns.
    pub(super) fn wrapped(&mut self, name: &str, text: &str) {
        let indent = if name.is_empty() { 0 } else { 11 };
        let lines = wrap(&self.plain(text), self.style.columns() - indent);
        for (i, line) in lines.iter().enumerate() {
            let lead = if i == 0 { name } else { "" };
            self.line(&format!("{lead:indent$}{line}"));
        }
    }

    pub(super) fn plain(&self, text: &str) -> String {
        if self.style.unicode { text.to_owned() } else { ascii(text) }
    }
}

struct Columns {
    bar: usize,
    cause: usize,
}

impl Columns {
    /// What the other columns leave (46), shared between bar and cause.
    fn new(width: usize) -> Self {
        let left = width.saturating_sub(46);
        let cause = if left >= 16 { (left - 8).min(26) } else { 0 };
        Columns { bar: (left - cause).clamp(2, 30), cause }
    }
}

fn battery_line(b: &BatteryUse, pm: &str) -> String {
    let mut line = format!(
        "discharged to a depth of {} a day (P10 {}, P90 {}); {} full cycles and {} of its life a year",
        number::percent(b.daily_depth.p50),
        number::percent(b.daily_depth.p10),
        number::percent(b.daily_depth.p90),
        number::estimate(b.equivalent_full_cycles_per_year, 0, pm),
        number::percent(b.life_used_per_year.mean),
    );
    if b.too_cold_h_per_year > 0.0 {
        let hours = number::fixed(b.too_cold_h_per_year, usize::from(b.too_cold_h_per_year < 10.0));
        line.push_str(&format!("; {hours} h of daylight too cold to charge"));
    }
    line.push('.');
    line
}

fn causes_line(s: &Summary) -> String {
    let list = words::ranked(&s.season.causes_min);
    let missing: f64 = list.iter().map(|(_, min)| min).sum();
    if list.is_empty() {
        return "nothing: every wanted minute had its jet.".to_owned();
    }
    let parts: Vec<String> = list
        .iter()
        .take(4)
        .map(|(key, min)| format!("{} {}", words::cause(key), number::percent(min / missing)))
        .collect();
    let rest = if list.len() > 4 { ", and others" } else { "" };
    format!(
        "{}{rest} of the {} h without a jet, of {} h wanted.",
        parts.join(", "),
        number::grouped((missing / 60.0).round() as u64),
        number::grouped((s.season.wanted_min / 60.0).round().max(0.0) as u64)
    )
}

fn water_line(s: &Summary, style: Style) -> String {
    let (mean, unit) = volume(s.water.litres_per_week.mean, style.units);
    let se = s.water.litres_per_week.se.map(|se| volume(se, style.units).0);
    let lost = number::estimate(Estimate { mean, se }, usize::from(mean < 10.0), style.pm());
    let low = match s.water.days_to_low_water {
        Some(days) => format!("from full to low water in {} days without topping up", number::fixed(days, 0)),
        None => format!("time to low water {}", number::NOT_COMPUTABLE),
    };
    format!("{lost} {unit} lost a week; {low}.")
}

fn ledger_line(s: &Summary) -> String {
    let pace = match (s.run.seconds, s.run.days_per_second) {
        (Some(sec), Some(pace)) => {
            format!(" in {} s ({} days a second)", number::plain(sec), number::grouped(pace.max(0.0) as u64))
        }
        _ => String::new(),
    };
    format!(
        "energy of every day accounted for to {:.0e} Wh; {} days simulated{pace}.",
        s.ledger.worst_residual_wh,
        number::grouped(s.run.days)
    )
}

/// A bar of `width` columns: solid to `mean`, light on to `p90` (shares of the width).
pub(super) fn bar(mean: f64, p90: f64, width: usize, unicode: bool) -> String {
    let cells = |share: f64| (share.clamp(0.0, 1.0) * width as f64 * 2.0).round() as usize;
    let (solid, light) = (cells(mean), cells(p90) / 2);
    let (full, half, tail) = if unicode { ('█', "▌", '░') } else { ('#', "", '.') };
    let mut out: String = std::iter::repeat_n(full, solid / 2).collect();
    if solid % 2 == 1 {
        out.push_str(half);
    }
    while out.chars().count() < light {
        out.push(tail);
    }
    pad(&out, width)
}

/// Greedy line breaking.
pub(super) fn wrap(text: &str, columns: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        if !lines[last].is_empty() && width(&lines[last]) + 1 + width(word) > columns {
            lines.push(word.to_owned());
        } else {
            if !lines[last].is_empty() {
                lines[last].push(' ');
            }
            lines[last].push_str(word);
        }
    }
    // A word longer than a line is broken, not run over the edge.
    lines.into_iter().flat_map(|line| chunks(&line, columns)).collect()
}

fn chunks(line: &str, columns: usize) -> Vec<String> {
    let chars: Vec<char> = line.chars().collect();
    if chars.len() <= columns {
        return vec![line.to_owned()];
    }
    chars.chunks(columns).map(|c| c.iter().collect()).collect()
}

pub(super) fn width(text: &str) -> usize {
    text.chars().count()
}

pub(super) fn pad(text: &str, columns: usize) -> String {
    format!("{text}{}", " ".repeat(columns.saturating_sub(width(text))))
}

pub(super) fn right(text: &str, columns: usize) -> String {
    format!("{}{text}", " ".repeat(columns.saturating_sub(width(text))))
}

/// At most so many columns; what is cut is marked.
pub(super) fn cut(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let kept: String = text.chars().take(columns.saturating_sub(2)).collect();
    format!("{}{}", kept.trim_end(), if columns > 2 { ".." } else { "" })
}

/// Nearest ASCII of what this program writes; other characters become `?`.
pub(super) fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '±' => out.push_str("+/-"),
            '°' => out.push_str(" deg"),
            '·' => out.push('-'),
            '²' => out.push('2'),
            '×' => out.push('x'),
            '–' | '—' => out.push('-'),
            '“' | '”' => out.push('"'),
            '‘' | '’' => out.push('\''),
            '≥' => out.push_str(">="),
            '≤' => out.push_str("<="),
            c if c.is_ascii() => out.push(c),
            _ => out.push('?'),
        }
    }
    out
}
