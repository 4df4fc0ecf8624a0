//! What the documents say is so: README.md shows what the program prints and draws, links lead somewhere, and what
//! DEVELOPERS.md names is where it says.

use crate::batch::Said;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn text(name: &str) -> String {
    fs::read_to_string(project().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Compares a file of the project with what it should be. If they differ, the new content is left in the build's folder for
/// temporary files, from where it can be copied.
pub fn assert_current(name: &str, now: &str) {
    if fs::read_to_string(project().join(name)).unwrap_or_default() != now {
        let copy = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name.rsplit('/').next().unwrap());
        fs::write(&copy, now).unwrap();
        panic!("{name} is out of date; what it should be is in {}", copy.display());
    }
}

/// The fenced block below the line that names the command, and what stands before and after it.
fn answer(readme: &str) -> (&str, &str, &str) {
    let start = readme.find("stilldays/").unwrap_or(0).max(readme.find("prints this").expect("the command"));
    let open = start + readme[start..].find("```text\n").unwrap() + "```text\n".len();
    let close = open + readme[open..].find("```").unwrap();
    (&readme[..open], &readme[open..close], &readme[close..])
}

/// Text without the time that the run took, and with single blanks: the time changes from run to run, and with it where
/// lines break.
fn timeless(text: &str) -> String {
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    match words.split_once(" simulated in ") {
        Some((before, took)) => {
            assert!(took.trim_end().ends_with("days a second)."), "{took}");
            format!("{before} simulated.")
        }
        None => words,
    }
}

/// The first chart of a page as a picture of its own, in the colours that the page has on paper of light colour.
fn picture(page: &str) -> String {
    let from = page.find("<svg class=\"chart\"").expect("a chart");
    let chart = &page[from..from + page[from..].find("</svg>").unwrap()];
    let name = chart.split("aria-label=\"").nth(1).unwrap().split('"').next().unwrap();
    let frame = chart.split("viewBox=\"").nth(1).unwrap().split('"').next().unwrap();
    let drawing = chart.split("role=\"img\"").nth(1).unwrap().split_once('>').unwrap().1;
    let drawing = drawing.split("</g><g role=\"list\"").next().unwrap();
    let style = page.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    let colours = style.split(":root{").nth(1).unwrap().split('}').next().unwrap();
    let value =
        |name: &str| colours.split(&format!("--{name}:")).nth(1).unwrap().split([';', '}']).next().unwrap();
    let mut rules = String::new();
    for start in ["svg text{", ".grid,.tick{", ".base{", ".bar,.point{", ".spread{"] {
        let rule = style.lines().find(|l| l.starts_with(start)).unwrap_or_else(|| panic!("no rule {start}"));
        let mut rule = rule.replace("svg text", "text");
        for name in ["soft", "hair", "bar", "ink"] {
            rule = rule.replace(&format!("var(--{name})"), value(name));
        }
        rules.push_str(&rule);
        rules.push('\n');
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{frame}\" width=\"600\" role=\"img\" aria-label=\"{name}\">\n\
         <style>\n{rules}</style>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"{}\"/>\n{}\n</svg>\n",
        value("paper"),
        drawing
            .replace("></rect>", "/>")
            .replace("></line>", "/>")
            .replace("></path>", "/>")
            .replace("><", ">\n<")
    )
}

/// The terminal's answer (up to the cautions) and the picture, as the command in README.md makes them.
#[test]
fn the_readme_shows_what_the_program_prints_and_draws() {
    let readme = text("README.md");
    let (before, shown, after) = answer(&readme);
    let command = before.rsplit("`cargo run --release -- ").next().unwrap().split('`').next().unwrap();
    let out = tempfile::tempdir().unwrap();
    let mut run = Command::new(env!("CARGO_BIN_EXE_stilldays"));
    run.args(command.split(' ')).arg("--out").arg(out.path()).current_dir(project());
    let said = Said::of(run.env("NO_COLOR", "1").env("LC_ALL", "C.UTF-8").output().unwrap());
    assert_eq!(said.code, Some(0), "{said:?}");
    let printed = said.out.split("\nCaution").next().unwrap();
    // Line by line up to the paragraph with the time.
    let exact = |text: &str| text.split("\nCheck").next().unwrap().to_owned();
    if exact(printed) != exact(shown) || timeless(printed) != timeless(shown) {
        assert_current("README.md", &format!("{before}{printed}\n{after}"));
    }
    let design = command.rsplit('/').next().unwrap().trim_end_matches(".toml");
    let folder = out.path().join(design);
    let files = after.split("| --- | --- |\n").nth(1).unwrap();
    let mut named = 0;
    for row in files.lines().take_while(|l| l.starts_with('|')) {
        for name in row.split('|').nth(1).unwrap().split(',') {
            assert!(folder.join(name.trim().trim_matches('`')).is_file(), "the run writes no {name}");
            named += 1;
        }
    }
    assert_eq!(named, fs::read_dir(&folder).unwrap().count(), "README.md names every file of a run");
    assert_current(
        "scenarios/still-days.svg",
        &picture(&fs::read_to_string(folder.join("report.html")).unwrap()),
    );
}

/// All documents of the project, relative to it.
fn documents() -> Vec<String> {
    let mut found: Vec<String> = ["README.md", "DEVELOPERS.md", "CHANGELOG.md"].map(str::to_owned).to_vec();
    let mut folders: Vec<PathBuf> = ["scenarios", "weather", "tests"].map(|f| project().join(f)).to_vec();
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                if !path.ends_with("target") {
                    folders.push(path);
                }
            } else if path.extension().is_some_and(|e| e == "md") {
                found.push(path.strip_prefix(project()).unwrap().display().to_string().replace('\\', "/"));
            }
        }
    }
    found
}

/// The anchor that a heading gets: lower case, blanks as hyphens, all else but letters, digits, `-` and `_` left out.
fn anchor(heading: &str) -> String {
    heading
        .trim_start_matches('#')
        .trim()
        .to_lowercase()
        .chars()
        .filter_map(|c| match c {
            ' ' => Some('-'),
            c if c.is_alphanumeric() || c == '-' || c == '_' => Some(c),
            _ => None,
        })
        .collect()
}

#[test]
fn every_link_between_documents_leads_somewhere() {
    let mut links = 0;
    for name in documents() {
        let document = text(&name);
        for target in document.split("](").skip(1).map(|rest| rest.split(')').next().unwrap()) {
            if target.starts_with("http") {
                continue;
            }
            let (file, heading) = target.split_once('#').unwrap_or((target, ""));
            let there = match file {
                "" => project().join(&name),
                file => project().join(&name).parent().unwrap().join(file),
            };
            assert!(there.exists(), "{name}: no {target}");
            if !heading.is_empty() {
                let text = fs::read_to_string(&there).unwrap();
                let found = text.lines().any(|l| l.starts_with('#') && anchor(l) == heading);
                assert!(found, "{name}: no heading {target}");
            }
            links += 1;
        }
    }
    println!("{links} links");
    assert!(links > 15);
}

/// Rows of the table below a heading of DEVELOPERS.md, without its head.
fn table(heading: &str) -> Vec<Vec<String>> {
    let document = text("DEVELOPERS.md");
    let section =
        document.split(&format!("\n## {heading}\n")).nth(1).unwrap_or_else(|| panic!("no {heading}"));
    let section = section.split("\n## ").next().unwrap();
    let rows = section.lines().filter(|l| l.starts_with('|')).skip(2);
    rows.map(|l| l.trim_matches('|').split('|').map(|cell| cell.trim().to_owned()).collect()).collect()
}

/// What stands between backticks.
fn code(text: &str) -> Vec<&str> {
    text.split('`').skip(1).step_by(2).collect()
}

#[test]
fn what_developers_are_told_to_look_for_is_there() {
    let rows = table("Where to find");
    for row in &rows {
        let files: Vec<String> = code(&row[1]).into_iter().map(text).collect();
        assert!(!files.is_empty(), "{row:?} names no file");
        let items = code(&row[2]);
        assert!(!items.is_empty(), "{row:?} names nothing to look for");
        for item in items {
            assert!(files.iter().any(|f| f.contains(item)), "no {item} in {}", row[1]);
        }
    }
    println!("{} questions", rows.len());
    assert!(rows.len() >= 16);
}

#[test]
fn names_in_the_glossary_are_those_of_the_code() {
    let mut sources = String::new();
    let mut folders = vec![project().join("src")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => folders.push(path),
                false => {
                    sources
                        .push_str(&path.strip_prefix(project().join("src")).unwrap().display().to_string());
                    sources.push_str(&fs::read_to_string(&path).unwrap());
                }
            }
        }
    }
    let rows = table("Words of this project");
    for row in &rows {
        for name in code(&row[1]) {
            assert!(sources.contains(name), "{}: nothing in src is called {name}", row[0]);
        }
    }
    assert!(rows.len() > 20);
}

/// The list of causes is that of the code, in its order and its words.
#[test]
fn causes_stand_in_the_order_of_the_rule() {
    let document = text("DEVELOPERS.md");
    let section = document.split("## How causes are assigned").nth(1).unwrap().split("\n## ").next().unwrap();
    let listed: Vec<&str> = section
        .lines()
        .filter(|l| l.starts_with(|c: char| c.is_ascii_digit()))
        .map(|l| l.split("**").nth(1).unwrap())
        .collect();
    assert_eq!(listed, stilldays::plant::Cause::ALL.map(stilldays::plant::Cause::words));
}
