//! Design files: good ones are read, bad ones are refused with the expected message.

use std::fs;
use std::path::{Path, PathBuf};

use stilldays::design::shelf::parse_shelf;
use stilldays::design::{SIZE_MAX, parse, read, reference};
use stilldays::source::{Problems, Severity};

/// How a case of the corpus fails its expectations.
const LACKING: [(&str, &str); 3] = [
    ("[site]", "[site]\nweather = \"a.csv\"\n"),
    ("[panel]", "[panel]\nrated_power = \"10 W\"\nopen_circuit_voltage = \"10.8 V\"\n"),
    ("[pump]", "[pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n"),
];

fn files(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/designs").join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .expect("corpus folder")
        .map(|entry| entry.expect("entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    files
}

#[test]
fn good_designs_are_read() {
    let files = files("good");
    assert!(files.len() >= 5, "{}", files.len());
    for file in files {
        if let Err(problems) = read(&file) {
            panic!("{problems}");
        }
    }
}

/// (line of the mistake, expected words there); line 0 is the whole file.
fn expectations(case: &str) -> Vec<(usize, &str)> {
    let mut guilty = 0;
    let mut list = Vec::new();
    for (k, line) in case.lines().enumerate() {
        if let Some(words) = line.strip_prefix("#^ ") {
            list.push((guilty, words));
        } else if let Some(words) = line.strip_prefix("#! ") {
            list.push((0, words));
        } else {
            guilty = k + 1;
        }
    }
    list
}

#[test]
fn bad_designs_are_refused_in_the_stated_words() {
    let cases = corpus("bad", &|file, case| {
        let mut design = case.to_owned();
        for (table, lacking) in LACKING {
            let named = case.contains(table) || case.contains(&table.replace(']', "."));
            if !case.starts_with("#bare") && !named {
                design.push_str(lacking);
            }
        }
        match parse(file, design) {
            Ok(file) => file.warnings,
            Err(problems) => problems,
        }
    });
    assert!(cases >= 60, "only {cases} cases");
}

#[test]
fn bad_shelves_are_refused_in_the_stated_words() {
    let cases = corpus("shelves/bad", &|file, case| match parse_shelf(file, case) {
        Ok(shelf) => shelf.warnings,
        Err(problems) => problems,
    });
    assert!(cases >= 20, "only {cases} cases");
}

/// Checks each case of a folder against the expectations in its comments, and returns the number of cases.
fn corpus(folder: &str, found: &dyn Fn(&Path, &str) -> Problems) -> usize {
    let mut cases = 0;
    let mut faults = Vec::new();
    for file in files(folder) {
        let text = fs::read_to_string(&file).expect("corpus file");
        for case in text.split("+++\n") {
            cases += 1;
            let expected = expectations(case);
            assert!(!expected.is_empty(), "a case of {} expects nothing:\n{case}", file.display());
            let found = found(&file, case);
            let mut left: Vec<_> =
                found.list.iter().map(|p| (p, Problems::from(p.clone()).to_string())).collect();
            for (line, words) in expected {
                let hit = left.iter().position(|(p, shown)| {
                    p.place().map_or(0, |(_, line, _)| line) == line && shown.contains(words)
                });
                match hit {
                    Some(at) => drop(left.remove(at)),
                    None => faults.push(format!("line {line} lacks \"{words}\" in\n{case}\nfound:\n{found}")),
                }
            }
            for (problem, shown) in left {
                if problem.severity == Severity::Error {
                    faults.push(format!("not expected:\n{shown}\nin\n{case}"));
                }
            }
        }
    }
    println!("{cases} cases");
    assert!(faults.is_empty(), "{}", faults.join("\n----\n"));
    cases
}

#[test]
fn files_that_are_no_text_are_refused() {
    let folder = tempfile::tempdir().expect("folder");
    let refused = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).expect("written");
        read(&path).expect_err(name).to_string()
    };
    assert!(refused("latin.toml", b"title = \"ok\"\n# caf\xe9\n").contains("line 2 is not UTF-8"));
    let large = vec![b'#'; usize::try_from(SIZE_MAX).expect("size") + 1];
    assert!(refused("large.toml", &large).contains("larger than 1000 kB"));
    let missing = read(&folder.path().join("none.toml")).expect_err("missing").to_string();
    assert!(missing.contains("none.toml: cannot be opened"), "{missing}");
    assert!(read(folder.path()).is_err());
}

/// What took time with the square of a file's length would take hours here.
#[test]
fn hostile_files_are_refused_in_few_words() {
    let many = |line: &dyn Fn(usize) -> String| (0..40_000).map(line).collect::<String>();
    let texts = [
        "[".repeat(900_000),
        format!("x = {}", "[".repeat(900_000)),
        format!("x = {}", "{a=".repeat(300_000)),
        many(&|k| format!("colour{k} = 1\n")),
        format!("[site]\nskyline = [{}]\n", many(&|k| format!("[\"{k} W\"],"))),
        format!("[pump]\nbench = [{}]\n", many(&|k| format!("[{k}],"))),
        format!("[prices]\n{}", many(&|k| format!("p{k} = -1\n"))),
        format!("[site]\nweather = [{}]\n", many(&|k| format!("\"{k}.csv\","))),
        many(&|k| format!("[[remedy]]\nname=\"{k}\"\n")),
        format!("[panel]\nrated_power = \"{}\"", "9".repeat(900_000)),
        format!("[panel]\nrated_power = \"10 {}\"", "W to ".repeat(180_000)),
        format!("title = \"{}\"", "é".repeat(400_000)),
        format!("[panel]\nrated_power = \"10 {}\"", "w".repeat(900_000)),
        format!("[panel]\nrated_power = \"{}\"", "w".repeat(900_000)),
        format!("[mount]\nkind = \"{}\"", "w".repeat(900_000)),
        format!(
            "[wish]\nhours = \"{} to sunset\"\nseason = \"{}\"",
            "w".repeat(400_000),
            "w".repeat(400_000)
        ),
        format!("[panel]\n{} = 1", "w".repeat(900_000)),
    ];
    for text in texts {
        let start: String = text.chars().take(20).collect();
        let shelf = text.replace("[panel]", "[[shelf.panel]]").replace("[pump]", "[[shelf.pump]]");
        let problems = parse_shelf(Path::new("hostile.toml"), &shelf).expect_err(&start).to_string();
        assert!(problems.len() < 200_000, "{start}: {} bytes of message", problems.len());
        let problems = parse(Path::new("hostile.toml"), text).expect_err(&start).to_string();
        assert!(problems.len() < 200_000, "{start}: {} bytes of message", problems.len());
    }
}

#[test]
fn no_mutation_of_a_good_design_makes_the_checker_panic() {
    let texts: Vec<String> = files("good").iter().map(|f| fs::read_to_string(f).expect("text")).collect();
    let scraps = [
        "\"",
        "[",
        "]",
        "=",
        "\n",
        "± 90 %",
        "-",
        "0",
        "1e308",
        "nan",
        " to ",
        "V",
        ", likely 3",
        "é",
        "{",
        "[[",
        "\0",
        "#",
        "remove = \"battery\"\n",
        "99999999999999999999",
        "'",
        "\\u0041",
    ];
    let mut refused = 0u32;
    let mut read = 0u32;
    let mutate = |u: &mut arbtest::arbitrary::Unstructured<'_>| {
        let mut text = u.choose(&texts)?.clone();
        for _ in 0..u.int_in_range(1..=2)? {
            let mut from = u.choose_index(text.len() + 1)?;
            let mut to = (from + u.choose_index(4)?).min(text.len());
            while !text.is_char_boundary(from) {
                from -= 1;
            }
            while !text.is_char_boundary(to) {
                to += 1;
            }
            text.replace_range(from..to, u.choose::<&str>(&scraps)?);
        }
        match parse(Path::new("mutant.toml"), text) {
            Ok(file) => {
                read += 1;
                let unit = file.design.draw(&mut |_| 0.999);
                let _ = unit.map(&mut |key, v| assert!(v.is_finite(), "{key}"));
            }
            Err(problems) => {
                refused += 1;
                assert!(problems.any_error() && !problems.to_string().is_empty());
            }
        }
        Ok(())
    };
    arbtest::arbtest(mutate).budget_ms(1500);
    println!("{read} mutants read, {refused} refused");
    assert!(read > 0 && refused > 0);
}

/// The page is made from the key table, so that it lists every key and no other.
#[test]
fn reference_page_has_every_key() {
    let page = reference();
    crate::documents::assert_current("scenarios/README.md", &page);
    assert!(page.matches("\n| `").count() > 85);
    // The ten lines it begins with are a design.
    let ten = page.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).expect("an example");
    assert!(ten.lines().count() <= 12);
    if let Err(problems) = parse(Path::new("ten.toml"), ten.to_owned()) {
        panic!("{problems}");
    }
}
