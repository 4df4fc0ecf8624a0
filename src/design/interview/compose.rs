//! The design that answers make, and whether an answer will do.

use std::fmt::Write as _;
use std::ops::Range;
use std::path::Path;

use super::answers::{Answer, Answers, fields, panel_voltage};
use super::compass::azimuth_deg;
use super::question::Question;
use crate::source::Severity;

impl Answers {
    /// The design that the answers make, questions without an answer at their defaults.
    pub fn design(&self) -> String {
        self.lines().0
    }

    /// Why the answer to `question` will not do, with the cure; `None` if nothing speaks against it. Later questions
    /// are not held against it.
    pub fn objection(&self, question: Question) -> Option<String> {
        let asked = question.words().to_lowercase();
        match (question, self.given(question)) {
            (_, Some(Answer::Text(text))) if text.trim().is_empty() => {
                return Some(format!("{asked}: no answer"));
            }
            (_, Some(Answer::Unknown)) if self.unknown(question).is_none() => {
                return Some(format!("{asked}: somebody has to decide; press Enter for the default"));
            }
            (Question::BatterySize, Some(Answer::Text(text))) if fields(text).len() != 2 => {
                return Some("write voltage and capacity with a comma between them, like 6.4 V, 3 Ah".into());
            }
            (Question::Basin, Some(Answer::Text(text))) if fields(text).len() != 2 => {
                return Some("write area and volume with a comma between them, like 0.5 m2, 20 L".into());
            }
            _ => {}
        }
        let (text, lines) = self.lines();
        let found = crate::design::parse(Path::new("design"), text).err()?;
        let line_of = |line: usize| lines.iter().find(|(_, at)| at.contains(&line)).map(|(q, _)| *q);
        let against = found.list.iter().filter(|p| p.severity == Severity::Error).find(|problem| {
            let asked: Vec<Option<Question>> = problem.places.iter().map(|p| line_of(p.line)).collect();
            asked.contains(&Some(question)) && asked.iter().flatten().all(|q| *q <= question)
        })?;
        Some([std::slice::from_ref(&against.title), against.helps.as_slice()].concat().join("; "))
    }

    /// The text of the design, and the lines (1-based) that hold each answer.
    fn lines(&self) -> (String, Vec<(Question, Range<usize>)>) {
        let mut writer = Writer { text: HEAD.to_owned(), lines: Vec::new() };
        for (table, questions) in TABLES {
            if *table == "battery" && !self.has_battery() {
                // No table: the panel feeds the pump directly.
                writer.answer(Question::Battery, "\n# No battery: the panel feeds the pump directly.\n");
                continue;
            }
            if !table.is_empty() {
                let _ = write!(writer.text, "\n[{table}]\n");
            }
            for question in questions.iter().filter(|q| self.asks(**q)) {
                let mut rows = self.rows(*question);
                if self.given(*question) == Some(&Answer::Unknown) {
                    rows.insert_str(0, "# Not known yet: measure it, or read it off the label.\n");
                }
                writer.answer(*question, &rows);
            }
        }
        (writer.text, writer.lines)
    }

    /// The lines of the design that hold one answer.
    fn rows(&self, question: Question) -> String {
        let text = self.text(question);
        let two = |keys: [&str; 2]| {
            let found = fields(&text);
            (0..2).map(|k| row(keys[k], found.get(k).map_or("", |f| f.as_str()))).collect()
        };
        match question {
            Question::Name => row("title", &text),
            Question::Weather => row("weather", &text),
            Question::PanelPower => row("rated_power", &text),
            Question::PanelVoltage => match panel_voltage(&text) {
                (true, volts) => row("max_power_voltage", volts),
                (false, volts) => row("open_circuit_voltage", volts),
            },
            Question::Mount | Question::Pump => row("kind", &text),
            Question::Facing => match azimuth_deg(&text) {
                Some(azimuth) => row("azimuth", &format!("{azimuth} deg")),
                None => row("azimuth", &text),
            },
            Question::Tilt => row("tilt", &text),
            Question::Battery => row("chemistry", &text),
            Question::BatterySize => two(["voltage", "capacity"]),
            Question::PumpBench => {
                let rows: Vec<String> = text.split(';').map(|r| list(&fields(r))).collect();
                format!("bench = [{}]\n", rows.join(", "))
            }
            Question::Jet => row("jet", &text),
            Question::Season => row("season", &text),
            Question::Hours => row("hours", &text),
            Question::DuskRun if text == "none" => "# no run after sunset is wished for\n".into(),
            Question::DuskRun => row("dusk_run", &text),
            Question::Basin => two(["area", "usable"]),
            Question::Filling => row("top_up", &text),
        }
    }
}

/// The design as it grows.
struct Writer {
    text: String,
    lines: Vec<(Question, Range<usize>)>,
}

impl Writer {
    fn answer(&mut self, question: Question, rows: &str) {
        let line = |text: &str| text.matches('\n').count() + 1;
        let from = line(&self.text);
        self.text += rows;
        self.lines.push((question, from..line(&self.text)));
    }
}

const HEAD: &str = "\
# Made by question and answer. `stilldays check` shows what it comes to; `stilldays manual keys` lists everything else
# that a design can say.
";

const TABLES: &[(&str, &[Question])] = &[
    ("", &[Question::Name]),
    ("site", &[Question::Weather]),
    ("wish", &[Question::Season, Question::Hours, Question::Jet, Question::DuskRun]),
    ("panel", &[Question::PanelPower, Question::PanelVoltage]),
    ("mount", &[Question::Mount, Question::Facing, Question::Tilt]),
    ("battery", &[Question::Battery, Question::BatterySize]),
    ("pump", &[Question::Pump, Question::PumpBench]),
    ("water", &[Question::Basin, Question::Filling]),
];

fn row(key: &str, text: &str) -> String {
    format!("{key} = {}\n", quoted(text))
}

fn list(texts: &[String]) -> String {
    let quoted: Vec<String> = texts.iter().map(|t| quoted(t)).collect();
    format!("[{}]", quoted.join(", "))
}

/// A TOML string on one line.
fn quoted(text: &str) -> String {
    // A multi-line string would shift the lines that follow.
    toml::Value::String(text.replace(['\n', '\r'], " ")).to_string()
}
