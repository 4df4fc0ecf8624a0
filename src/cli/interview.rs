//! The questions of `stilldays new --ask`, in a terminal.

use super::failure::Failure;
use dialoguer::Input;
use dialoguer::theme::SimpleTheme;
use std::io::IsTerminal;
use std::path::Path;
use stilldays::design;
use stilldays::design::interview::{Answer, Answers, Question};
use stilldays::report::text::wrap::wrap;
use stilldays::weather::file;

/// Answers that mean "don't know".
const UNKNOWN: [&str; 3] = ["?", "don't know", "unknown"];

const WITHOUT_WEATHER: &str = "Typical years are published by many national weather services, as EPW or TMY3 files. Without one, twelve \
     monthly means will do: `stilldays invent` makes a year from them. The design names typical-year.epw: put your file \
     beside it under that name, or enter its name in the design.";

/// Asks for a design that is to be written to `path`.
///
/// # Errors
/// There is no terminal, or it was closed.
pub fn design(path: &Path) -> Result<String, Failure> {
    if !std::io::stdin().is_terminal() || !std::io::stderr().is_terminal() {
        return Err(Failure::Usage(
            "`new --ask` asks questions and needs a terminal; without `--ask`, `new` writes a design to fill in".into(),
        ));
    }
    tell(
        "Press Enter to take the answer in brackets. Write ? where you don't know: a range will stand for it.",
    );
    let mut answers = Answers::default();
    loop {
        for question in Question::ALL {
            if answers.asks(question) {
                ask(question, &mut answers, path)?;
            }
        }
        let text = answers.design();
        match design::parse(path, text.clone()) {
            Ok(file) => {
                for warning in file.warning_lines() {
                    tell(&format!("Note: {warning}"));
                }
                return Ok(text);
            }
            Err(problems) => {
                anstream::eprintln!("\n{}\n", problems.render_styled());
                tell("These answers make no design that works. Here they are again: change what is wrong.");
            }
        }
    }
}

fn ask(question: Question, answers: &mut Answers, path: &Path) -> Result<(), Failure> {
    eprintln!();
    tell(question.help());
    loop {
        let offered = match answers.given(question) {
            Some(Answer::Text(text)) => text.clone(),
            Some(Answer::Unknown) => UNKNOWN[0].to_owned(),
            None => answers.default_to(question),
        };
        let said: String = Input::with_theme(&SimpleTheme)
            .with_prompt(question.words())
            .default(offered)
            .interact_text()
            .map_err(|e| {
                Failure::Message(format!("the terminal was closed, and nothing was written: {e}"))
            })?;
        let unknown = UNKNOWN.contains(&said.trim().to_lowercase().as_str());
        if question == Question::Weather && unknown {
            tell(WITHOUT_WEATHER);
            answers.give(question, Answer::Text(answers.default_to(question)));
            return Ok(());
        }
        let before = answers.given(question).cloned();
        answers.give(question, if unknown { Answer::Unknown } else { Answer::Text(said.clone()) });
        let wrong = match question {
            Question::Weather => look_at_weather(answers, path, said.trim()),
            _ => answers.objection(question),
        };
        let Some(wrong) = wrong else {
            if let Some(range) = answers.unknown(question).filter(|_| unknown) {
                tell(&format!("Taken for now: {range}."));
            }
            return Ok(());
        };
        tell(&format!("This will not do: {wrong}"));
        answers.take_back(question, before);
    }
}

/// Reads the weather file that a design at `path` names, to learn on which side of the equator it lies; or why it
/// cannot be read.
fn look_at_weather(answers: &mut Answers, path: &Path, name: &str) -> Option<String> {
    let found = path.parent().unwrap_or(Path::new("")).join(name);
    match file::load(&found) {
        Ok(year) => {
            answers.southern = year.place.latitude_deg < 0.0;
            tell(&format!(
                "Read: latitude {:.2}, longitude {:.2}.",
                year.place.latitude_deg, year.place.longitude_deg
            ));
            None
        }
        Err(problems) => {
            Some(format!("{}\nWrite ? if you have no weather file yet.", problems.list.first()?.title))
        }
    }
}

/// A paragraph on stderr, where the questions stand.
fn tell(text: &str) {
    for paragraph in text.lines() {
        for line in wrap(paragraph, 78) {
            anstream::eprintln!("{line}");
        }
    }
}
