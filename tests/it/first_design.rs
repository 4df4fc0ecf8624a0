//! A first design by question and answer, and the documents that the program carries.

use crate::browser;
use crate::cli::Desk;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

#[test]
fn without_a_terminal_it_says_what_to_do_instead() {
    let desk = Desk::new();
    let said = desk.say(&["new", "mine.toml", "--ask"]);
    assert_eq!(said.code, Some(2));
    assert!(said.err.contains("needs a terminal") && said.err.contains("without `--ask`"), "{said:?}");
    assert!(!desk.path("mine.toml").exists());
}

/// What a terminal shows while these answers are typed, and whether the command succeeded.
#[cfg(target_os = "linux")]
fn typed(desk: &Desk, answers: &[&str]) -> (String, bool) {
    let command = format!("'{}' new mine.toml --ask", env!("CARGO_BIN_EXE_stilldays"));
    // `script` gives the command a terminal of its own.
    let mut terminal = Command::new("script")
        .args(["--quiet", "--return", "--echo", "never", "--command", &command, "/dev/null"])
        .current_dir(desk.path(""))
        .env("TERM", "xterm")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut keys = terminal.stdin.take().unwrap();
    let lines: String = answers.iter().map(|a| format!("{a}\r")).collect();
    keys.write_all(lines.as_bytes()).unwrap();
    let output = terminal.wait_with_output().unwrap();
    drop(keys);
    (String::from_utf8_lossy(&output.stdout).into_owned(), output.status.success())
}

#[cfg(target_os = "linux")]
#[test]
fn answers_make_a_design_that_check_passes() {
    let desk = Desk::new();
    let weather = Path::new(env!("CARGO_MANIFEST_DIR")).join("weather/fenholm.csv.gz");
    std::fs::copy(weather, desk.path("town.csv.gz")).unwrap();
    // A missing file and a wrong unit are refused at once, and asked again.
    let answers = [
        "Court \"B\"",
        "no.epw",
        "town.csv.gz",
        "10 V",
        "10 W",
        "?",
        "fixed",
        "SSE",
        "?",
        "lead-acid",
        "6 V, 4.5 Ah",
        "",
        "",
        "",
        "",
        "",
        "45 min",
        "",
        "rain",
    ];
    let (shown, well) = typed(&desk, &answers);
    assert!(well, "{shown}");
    for words in ["This will not do", "Taken for now:", "Wrote mine.toml"] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    let text = std::fs::read_to_string(desk.path("mine.toml")).unwrap();
    for line in
        ["azimuth = \"157.5 deg\"", "top_up = \"rain\"", "dusk_run = \"45 min\"", "rated_power = \"10 W\""]
    {
        assert!(text.contains(line), "{line}: {text}");
    }
    let said = desk.well(&["check", "mine.toml"]);
    assert!(said.out.contains("valid: Court \"B\""), "{said:?}");
}

#[test]
fn the_program_carries_its_documents() {
    let desk = Desk::new();
    assert!(desk.well(&["manual", "guide"]).out.starts_with("# Guide"));
    assert!(desk.well(&["manual", "weather"]).out.contains("Plain CSV"));
    assert!(desk.well(&["manual", "keys"]).out.contains("battery.capacity"));
    let one = desk.well(&["manual", "battery.capacity"]).out;
    assert!(one.contains("default  required") && !one.contains("battery.voltage"), "{one}");
    assert!(desk.well(&["manual", "battery"]).out.contains("battery.voltage"));
    let said = desk.say(&["manual", "capacty"]);
    assert_eq!(said.code, Some(2));
    assert!(said.err.contains("manual keys") || said.err.contains("capacity"), "{said:?}");
    desk.well(&["manual", "--page"]);
    browser::holds(&desk.path("results/manual.html"));
}

/// Who has no weather file yet learns where one is to be had; who misspelt its name, which was meant.
#[test]
fn a_missing_weather_file_says_where_one_is_to_be_had() {
    let desk = Desk::new();
    desk.say(&["new", "mine.toml"]);
    let text = std::fs::read_to_string(desk.path("mine.toml")).unwrap();
    let weather = text.lines().find(|l| l.starts_with("weather")).unwrap().to_owned();
    let named = |file: &str| text.replace(&weather, &format!("weather = \"{file}\""));

    std::fs::write(desk.path("mine.toml"), named("hillside.csv")).unwrap();
    let said = desk.say(&["run", "mine.toml"]);
    assert_eq!(said.code, Some(1), "{said:?}");
    for part in
        ["hillside.csv does not exist", "EPW, TMY3", "twelve monthly means", "stilldays invent", "mine.toml:"]
    {
        assert!(said.err.contains(part), "{part} in {}", said.err);
    }

    std::fs::write(desk.path("hillsite.csv"), "no weather").unwrap();
    let said = desk.say(&["check", "mine.toml"]);
    assert!(said.err.contains("did you mean `hillsite.csv`?"), "{}", said.err);
}
