use super::{Answer, Answers, Question};
use crate::design::{DesignFile, parse};
use std::path::Path;

fn read(answers: &Answers) -> DesignFile {
    let text = answers.design();
    parse(Path::new("asked.toml"), text.clone()).unwrap_or_else(|p| panic!("{text}\n{p}"))
}

fn with(given: &[(Question, &str)]) -> Answers {
    let mut answers = Answers::default();
    for (question, text) in given {
        let answer = if *text == "?" { Answer::Unknown } else { Answer::Text((*text).to_owned()) };
        answers.give(*question, answer);
    }
    answers
}

#[test]
fn enter_throughout_makes_a_design_without_a_warning() {
    for southern in [false, true] {
        let mut answers = Answers::default();
        answers.southern = southern;
        let file = read(&answers);
        assert!(file.warnings.is_empty(), "{}", file.warnings);
        assert_eq!(file.design.mount.azimuth_deg.nominal, if southern { 0.0 } else { 180.0 });
    }
}

#[test]
fn not_knowing_makes_a_design_whatever_was_chosen() {
    for battery in
        ["none", "LiPo", "lithium ion", "lithium iron phosphate", "lead-acid", "nickel-metal hydride"]
    {
        for mount in ["fixed", "sun-following", "light-seeking"] {
            for (voltage, pump) in
                [("?", "?"), ("10.8 V", "?"), ("21.6 V", "?"), ("mp 9 V", "?"), ("?", "6 V, 200 mA, 40 cm")]
            {
                let mut answers = with(&[
                    (Question::Battery, battery),
                    (Question::Mount, mount),
                    (Question::PanelVoltage, voltage),
                    (Question::PumpBench, pump),
                ]);
                for question in Question::ALL {
                    if answers.given(question).is_none() && answers.unknown(question).is_some() {
                        answers.give(question, Answer::Unknown);
                    }
                }
                for question in Question::ALL {
                    let why = answers.objection(question);
                    assert_eq!(why, None, "{question:?}\n{}", answers.design());
                }
                let _ = read(&answers);
            }
        }
    }
}

#[test]
fn an_answer_that_will_not_do_is_refused_at_once() {
    let wrong = [
        (Question::PanelPower, "10 V", "power"),
        (Question::PanelPower, "ten watts", "ten"),
        (Question::PanelVoltage, "0.01 V", "V"),
        (Question::Mount, "moving", "fixed"),
        (Question::Facing, "up", "up"),
        (Question::Tilt, "120 deg", "90"),
        (Question::Battery, "potato", "potato"),
        (Question::BatterySize, "3 Ah", "comma"),
        (Question::Pump, "diesel", "brushed"),
        (Question::PumpBench, "6 V, 290 mA", "bench"),
        (Question::Jet, "high", "high"),
        (Question::Season, "summer", "summer"),
        (Question::Hours, "all day", "all day"),
        (Question::DuskRun, "long", "long"),
        (Question::Basin, "0.5 m2", "comma"),
        (Question::Filling, "never", "every 7 days"),
        (Question::Season, "?", "decide"),
    ];
    for (question, text, expected) in wrong {
        let why = with(&[(question, text)]).objection(question).unwrap_or_else(|| panic!("{text} was taken"));
        assert!(why.contains(expected), "{text}: {why}");
    }
}

#[test]
fn parts_that_cannot_work_together_are_refused_at_the_later_one() {
    let answers = with(&[(Question::PumpBench, "6 V, 200 mA, 40 cm"), (Question::Jet, "3 m")]);
    assert_eq!(answers.objection(Question::PumpBench), None);
    let why = answers.objection(Question::Jet).unwrap();
    assert!(why.contains("jet"), "{why}");
}

#[test]
fn answers_of_any_shape_never_break_the_file() {
    arbtest::arbtest(|u| {
        let mut answers = Answers::default();
        for question in Question::ALL {
            if u.arbitrary()? {
                answers.give(question, Answer::Text(u.arbitrary()?));
            }
        }
        for question in Question::ALL {
            let _ = answers.objection(question);
        }
        // Whatever was written stays a value: the file is TOML.
        assert!(answers.design().parse::<toml::Table>().is_ok(), "{}", answers.design());
        Ok(())
    });
}

#[test]
fn a_title_with_quotes_and_two_bench_rows_arrive() {
    let file = read(&with(&[
        (Question::Name, "The \"old\" basin"),
        (Question::PumpBench, "3 V, 110 mA, 12 cm; 6 V, 250 to 300 mA, likely 290 mA, 43 cm"),
        (Question::Facing, "SSE"),
        (Question::DuskRun, "none"),
        (Question::Filling, "rain"),
    ]));
    assert_eq!(file.design.title, "The \"old\" basin");
    assert_eq!(file.design.mount.azimuth_deg.nominal, 157.5);
    assert_eq!(file.design.pump.bench.len(), 2);
}
