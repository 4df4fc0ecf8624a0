//! Answers: which question is asked, and what Enter and "don't know" stand for.

use std::collections::BTreeMap;

use super::question::Question::{self, *};
use crate::design::keys::words::{Word, WordList};
use crate::design::parts::Chemistry;
use crate::units::{Dimension, parse, significant};

/// One answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// As it was written.
    Text(String),
    /// Don't know: a range stands for it.
    Unknown,
}

/// The answers so far. A question that has no answer yet stands at its default.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Answers {
    given: BTreeMap<Question, Answer>,
    /// Whether the place lies south of the equator.
    pub southern: bool,
}

impl Answers {
    /// Takes an answer; an earlier one to the same question goes.
    pub fn give(&mut self, question: Question, answer: Answer) {
        self.given.insert(question, answer);
    }

    /// Takes an answer back; `before`, if any, stands again.
    pub fn take_back(&mut self, question: Question, before: Option<Answer>) {
        self.given.remove(&question);
        self.given.extend(before.map(|answer| (question, answer)));
    }

    /// The answer given, if there is one.
    pub fn given(&self, question: Question) -> Option<&Answer> {
        self.given.get(&question)
    }

    /// Whether somebody knew the answer.
    pub(super) fn knows(&self, question: Question) -> bool {
        matches!(self.given(question), Some(Answer::Text(_)))
    }

    /// What stands in the design: the answer, the range for "don't know", or the default.
    pub(super) fn text(&self, question: Question) -> String {
        match self.given(question) {
            Some(Answer::Text(text)) => text.trim().to_owned(),
            Some(Answer::Unknown) => self.unknown(question).unwrap_or_else(|| self.default_to(question)),
            None => self.default_to(question),
        }
    }

    pub(super) fn has_battery(&self) -> bool {
        self.text(Battery) != "none"
    }

    /// Voltage of the battery, volts.
    pub(super) fn battery_v(&self) -> Option<f64> {
        // Asked while the size has no answer yet, its default would ask back for the panel's voltage only.
        let size = self.text(BatterySize);
        Some(parse(fields(&size).first()?, Dimension::Voltage).ok()?.nominal)
    }

    /// Voltage of the panel without load, volts; 1.2 times that at maximum power (common practice, no source).
    pub(super) fn panel_open_v(&self) -> Option<f64> {
        let Some(Answer::Text(text)) = self.given(PanelVoltage) else { return None };
        let (at_max_power, text) = panel_voltage(text);
        let volts = parse(text, Dimension::Voltage).ok()?.nominal;
        Some(if at_max_power { 1.2 * volts } else { volts })
    }

    /// Highest voltage of the pump's bench rows, volts, if it was given.
    pub(super) fn pump_v(&self) -> Option<f64> {
        let Some(Answer::Text(text)) = self.given(PumpBench) else { return None };
        Some(parse(fields(text.split(';').next_back()?).first()?, Dimension::Voltage).ok()?.nominal)
    }

    /// Height of the jet in the last bench row, metres.
    pub(super) fn jet_of_pump_m(&self) -> Option<f64> {
        let bench = self.text(PumpBench);
        Some(parse(fields(bench.split(';').next_back()?).get(2)?, Dimension::Length).ok()?.nominal)
    }

    /// Whether a question is asked after these self.
    pub fn asks(&self, question: Question) -> bool {
        match question {
            Facing | Tilt => self.text(Mount) == "fixed",
            BatterySize => self.has_battery(),
            Name | Weather | PanelPower | PanelVoltage | Mount | Battery | Pump | PumpBench | Jet
            | Season | Hours | DuskRun | Basin | Filling => true,
        }
    }

    /// What an empty answer stands for. An invented build that works, fitted to the answers so far.
    pub fn default_to(&self, question: Question) -> String {
        match question {
            Name => "My fountain".into(),
            Weather => "typical-year.epw".into(),
            PanelPower => "10 W".into(),
            PanelVoltage => "10.8 V".into(),
            Mount => "fixed".into(),
            Facing => (if self.southern { "north" } else { "south" }).into(),
            Tilt => "35 deg".into(),
            Battery => "lithium iron phosphate".into(),
            BatterySize => usual_battery(self).into(),
            Pump => "electronic".into(),
            PumpBench => {
                let volts = significant(pump_volts(self), 3);
                format!("{volts} V, 200 mA, 40 cm")
            }
            Jet => match self.jet_of_pump_m() {
                // A little lower than the pump throws at its rated voltage: voltage falls in the evening.
                Some(jet_m) => format!("{} cm", significant(60.0 * jet_m, 2)),
                None => "20 cm".into(),
            },
            Season => (if self.southern { "10-01 to 04-30" } else { "04-01 to 10-31" }).into(),
            Hours => "sunrise + 1 h to sunset + 1 h".into(),
            DuskRun => (if self.has_battery() { "60 min" } else { "none" }).into(),
            Basin => "0.5 m2, 20 L".into(),
            Filling => "every 7 days".into(),
        }
    }

    /// What the answer "don't know" stands for: a range wide enough for most such builds (common practice, no source).
    /// `None` where somebody has to decide.
    pub fn unknown(&self, question: Question) -> Option<String> {
        match question {
            PanelPower => Some("5 to 15 W".into()),
            PanelVoltage => Some(usual_panel_voltage(self)),
            Facing => Some(if self.southern { "0 to 40 deg" } else { "140 to 220 deg" }.into()),
            Tilt => Some("20 to 50 deg".into()),
            BatterySize => {
                let size = usual_battery(self);
                let (volts, _) = size.split_once(',').unwrap_or((size, ""));
                Some(format!("{volts}, 1.5 to 4 Ah"))
            }
            PumpBench => {
                let volts = significant(pump_volts(self), 3);
                Some(format!("{volts} V, 120 to 300 mA, 30 to 60 cm"))
            }
            Basin => Some("0.3 to 0.8 m2, 10 to 30 L".into()),
            Name | Weather | Mount | Battery | Pump | Jet | Season | Hours | DuskRun | Filling => None,
        }
    }
}

/// `mp 9 V` is the voltage at maximum power.
pub(super) fn panel_voltage(text: &str) -> (bool, &str) {
    let text = text.trim();
    for lead in ["mp ", "Vmp ", "vmp "] {
        if let Some(volts) = text.strip_prefix(lead) {
            return (true, volts.trim());
        }
    }
    (false, text)
}

/// What stands between the commas; the most likely value of a range stays with its range.
pub(super) fn fields(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for part in text.split(',') {
        match found.last_mut() {
            Some(range) if part.trim_start().starts_with("likely") => *range += &format!(", {}", part.trim()),
            _ => found.push(part.trim().to_owned()),
        }
    }
    found
}

/// The word for a chemistry, by any spelling that a design may use.
fn chemistry(text: &str) -> &'static str {
    let spelt =
        |word: &&Word| word.word == text || word.also.iter().any(|other| other.eq_ignore_ascii_case(text));
    Chemistry::WORDS.iter().find(spelt).map_or("", |word| word.word)
}

/// Voltage and capacity of a small battery that suits the panel.
fn usual_battery(answers: &Answers) -> &'static str {
    let twelve = answers.panel_open_v().is_none_or(|volts| volts > 15.0) && answers.knows(PanelVoltage);
    match (chemistry(&answers.text(Battery)), twelve) {
        ("lithium ion", false) => "7.4 V, 2.6 Ah",
        ("lithium ion", true) => "11.1 V, 2.6 Ah",
        ("lead-acid", false) => "6 V, 4.5 Ah",
        ("lead-acid", true) => "12 V, 7 Ah",
        ("nickel-metal hydride", false) => "6 V, 2.5 Ah",
        ("nickel-metal hydride", true) => "12 V, 2.5 Ah",
        (_, false) => "6.4 V, 3 Ah",
        (_, true) => "12.8 V, 6 Ah",
    }
}

/// Voltage without load of panels that are sold for a battery or pump of this voltage: 1.6 to 1.85 times it
/// (common practice, no source).
fn usual_panel_voltage(answers: &Answers) -> String {
    let volts =
        answers.battery_v().filter(|_| answers.has_battery()).or_else(|| answers.pump_v()).unwrap_or(6.0);
    format!("{} to {} V", significant(1.6 * volts, 3), significant(1.85 * volts, 3))
}

/// Voltage at which a pump for this battery, or without one for this panel, is rated.
fn pump_volts(answers: &Answers) -> f64 {
    let supply = if answers.has_battery() {
        answers.battery_v()
    } else if answers.knows(PanelVoltage) {
        answers.panel_open_v().map(|volts| volts / 1.8)
    } else {
        None
    };
    if supply.is_some_and(|volts| volts > 9.0) { 12.0 } else { 6.0 }
}
