//! Small weather files that must be refused. Each contains the message that it expects, after `expected: ` up to the end of
//! the line or of the comment.

use std::path::PathBuf;
use stilldays::weather::load;

#[test]
fn every_bad_file_is_refused_with_the_message_it_states() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/weather/bad");
    let mut seen = 0;
    for entry in std::fs::read_dir(&folder).expect("the corpus is there") {
        let path = entry.expect("a readable folder").path();
        let text = std::fs::read_to_string(&path).expect("UTF-8");
        let expected = text
            .lines()
            .find_map(|line| line.split_once("expected: "))
            .map(|(_, rest)| {
                rest.split(["\",", " -->"].into_iter().find(|m| rest.contains(m)).unwrap_or("\n"))
            })
            .and_then(|mut parts| parts.next())
            .unwrap_or_else(|| panic!("{} states no message", path.display()))
            .trim();
        assert!(expected.len() > 10, "{} states too little: `{expected}`", path.display());
        let shown = match load(&path) {
            Ok(_) => panic!("{} was taken", path.display()),
            Err(problems) => problems.to_string(),
        };
        assert!(shown.contains(expected), "{}: expected `{expected}`, got\n{shown}", path.display());
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        assert!(shown.contains(&name), "{name} is not named in\n{shown}");
        seen += 1;
    }
    assert!(seen >= 40, "only {seen} bad files");
}
