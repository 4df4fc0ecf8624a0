//! `compare` and `remedies`: their output, and the coverage of their intervals.

use rand::RngExt;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;
use stilldays::seed::{Purpose, stream};
use stilldays::study::engine::WAVE_TRIALS;
use stilldays::study::paired::Pairs;
use stilldays::study::run::{SEQUENTIAL_MARGIN, Until};
use stilldays::tally::Moments;

/// A demo design (invented), by the start of its name.
fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(format!("{name}.toml"))
}

/// Runs the program, which must succeed, and returns its output.
fn stilldays(args: &[&str], folder: &Path, locale: &str) -> String {
    let out = Command::new(env!("CARGO_BIN_EXE_stilldays"))
        .args(args)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .env("LC_ALL", locale)
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn json(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// Rows of a CSV by column name, its comment line left out.
fn csv(path: &Path) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(path).unwrap();
    let head = reader.headers().unwrap().iter().map(str::to_owned).collect();
    (head, reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect())
}

/// Lines fit 80 columns, except for paths; in a plain locale the text is ASCII.
fn fits(said: &str, ascii: bool) {
    for line in said.lines().filter(|l| !l.starts_with("Page and numbers:")) {
        assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
        assert!(!ascii || line.is_ascii(), "{line}");
    }
}

#[test]
fn two_designs_at_one_place_are_compared_trial_by_trial() {
    let dir = tempfile::tempdir().unwrap();
    let (a, b) = (demo("mill-3-seeking-small-battery"), demo("mill-5-seeking-bigger-panel"));
    let (a, b) = (a.to_str().unwrap(), b.to_str().unwrap());
    for (locale, ascii) in [("C", true), ("C.UTF-8", false)] {
        let said = stilldays(&["compare", a, b, "--trials", "64", "--out", "c"], dir.path(), locale);
        fits(&said, ascii);
        assert!(said.contains("2 has fewer still days than 1"), "{said}");
    }

    let c = json(&dir.path().join("c/compare.json"));
    assert_eq!(c["schema"], "stilldays.compare/1");
    assert_eq!(c["designs"].as_array().unwrap().len(), 2);
    let against = &c["differences"][0];
    assert_eq!(against["paired"], true);
    assert_eq!(against["months"].as_array().unwrap().len(), 7, "April to October");
    let d = &against["still_days"];
    let (low, mean, high) =
        (d["low"].as_f64().unwrap(), d["mean"].as_f64().unwrap(), d["high"].as_f64().unwrap());
    assert!(low < mean && mean < high && high < 0.0, "{low} {mean} {high}");
    let alone = |k: usize| c["designs"][k]["season"]["still_days"]["mean"].as_f64().unwrap();
    assert!((alone(1) - alone(0) - mean).abs() < 1e-9, "the difference of the means is the mean difference");

    let (head, rows) = csv(&dir.path().join("c/compare.csv"));
    assert_eq!(
        head,
        [
            "design",
            "against",
            "file",
            "paired",
            "scope",
            "quantity",
            "unit",
            "mean",
            "se",
            "low_95",
            "high_95",
            "chance_lower",
            "chance_same",
            "chance_higher",
            "told_apart"
        ]
    );
    let row = rows.iter().find(|r| r[1] == "1" && r[4] == "season" && r[5] == "still_days").unwrap();
    assert_eq!((row[3].as_str(), row[14].as_str()), ("yes", "yes"));
    assert_eq!(row[7].parse::<f64>().unwrap(), mean);
    crate::browser::holds_on(&dir.path().join("c/compare.html"), 2);
    let page = std::fs::read_to_string(dir.path().join("c/compare.html")).unwrap();
    assert!(page.contains("stilldays.compare/1") && page.contains("class=\"chart\""));
}

/// Money has the unit that the design names, everywhere; amounts in two units are not set against each other.
#[test]
fn money_has_its_unit() {
    let dir = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(demo("mill-6-fixed-battery")).unwrap();
    let weather = format!("\"{}", demo("../weather/fenholm").with_extension("").display());
    let text = text.replace("\"../weather/fenholm", &weather).replace("04-01 to 10-31", "05-01 to 05-12");
    let priced = |unit: &str, pump: &str| {
        text.replace("[prices]", &format!("[prices]\ncurrency = \"{unit}\"\nspare = {pump}"))
    };
    for (name, text) in
        [("a.toml", priced("EUR", "1")), ("b.toml", priced("EUR", "4")), ("c.toml", priced("$", "4"))]
    {
        std::fs::write(dir.path().join(name), text).unwrap();
    }
    let said = |names: [&str; 2], out: &str| {
        let args = ["compare", names[0], names[1], "--trials", "16", "--out", out];
        stilldays(&args, dir.path(), "C.UTF-8").replace('\n', " ")
    };
    assert!(said(["a.toml", "b.toml"], "one").contains("It costs 3.00 EUR more"));
    let one = json(&dir.path().join("one/compare.json"));
    assert_eq!(
        (&one["designs"][0]["design"]["currency"], &one["differences"][0]["currency"]),
        (&"EUR".into(), &"EUR".into())
    );
    assert_eq!(one["differences"][0]["price"], 3.0);
    let (_, rows) = csv(&dir.path().join("one/compare.csv"));
    assert!(rows.iter().any(|r| r[5] == "price" && r[6] == "EUR"));
    let page = std::fs::read_to_string(dir.path().join("one/compare.html")).unwrap();
    assert!(page.contains("price 61.00\u{a0}EUR") && page.contains("It costs 3.00\u{a0}EUR more"));

    assert!(said(["a.toml", "c.toml"], "two").contains("a price is missing or in another currency"));
    assert!(json(&dir.path().join("two/compare.json"))["differences"][0]["price"].is_null());

    stilldays(&["run", "c.toml", "--trials", "16"], dir.path(), "C.UTF-8");
    assert_eq!(json(&dir.path().join("results/c/summary.json"))["design"]["currency"], "$");
    let months = std::fs::read_to_string(dir.path().join("results/c/months.csv")).unwrap();
    assert!(months.contains("# prices and costs are in $\n"), "{}", &months[..200]);
    let page = std::fs::read_to_string(dir.path().join("results/c/report.html")).unwrap();
    assert!(page.contains("64.00\u{a0}$"));
    // The tables of the other commands name it, too.
    let shelf = demo("shelf").display().to_string();
    for (args, table) in [
        (vec!["grid", "c.toml", "--x", "battery.capacity=1,2", "--y", "panel.rated_power=1,2"], "c/grid.csv"),
        (vec!["remedies", "c.toml"], "c/remedies.csv"),
        (vec!["choose", "c.toml", "--shelf", &shelf], "c/choose.csv"),
    ] {
        stilldays(&[&args[..], &["--trials", "16"]].concat(), dir.path(), "C.UTF-8");
        let text = std::fs::read_to_string(dir.path().join("results").join(table)).unwrap();
        assert!(text.contains("# prices and costs are in $\n"), "{table}: {}", &text[..200]);
    }
    std::fs::create_dir(dir.path().join("yard")).unwrap();
    for name in ["a.toml", "b.toml", "c.toml"] {
        std::fs::copy(dir.path().join(name), dir.path().join("yard").join(name)).unwrap();
    }
    stilldays(&["batch", "yard", "--trials", "16", "--out", "all"], dir.path(), "C.UTF-8");
    let ranking = std::fs::read_to_string(dir.path().join("all/ranking.csv")).unwrap();
    for (file, price) in [("a.toml", "61,EUR"), ("b.toml", "64,EUR"), ("c.toml", "64,$")] {
        let row = ranking.lines().find(|line| line.contains(file)).unwrap();
        assert!(row.contains(price), "{row}");
    }
}

/// Designs with other wishes do not answer the same question: it is said, and `--same-wish` asks all of them the first one's.
#[test]
fn other_wishes_are_named_and_one_wish_can_be_asked_of_all() {
    let dir = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(demo("mill-6-fixed-battery")).unwrap();
    let weather = format!("\"{}", demo("../weather/fenholm").with_extension("").display());
    let text = text.replace("\"../weather/fenholm", &weather).replace("04-01 to 10-31", "05-01 to 05-12");
    std::fs::write(dir.path().join("a.toml"), &text).unwrap();
    let other = text
        .replace("jet = \"250 mm\"", "jet = \"120 mm\"")
        .replace("evenings = \"75 %\"", "evenings = \"20 %\"");
    assert_ne!(other, text);
    std::fs::write(dir.path().join("b.toml"), other).unwrap();

    let args = ["compare", "a.toml", "b.toml", "--trials", "16", "--out", "c"];
    let said = stilldays(&args, dir.path(), "C.UTF-8").replace('\n', " ");
    assert!(
        said.contains("different wishes") && said.contains("wish.jet") && said.contains("wish.evenings"),
        "{said}"
    );
    let apart = json(&dir.path().join("c/compare.json"));
    assert_eq!(apart["designs"][1]["season"]["wish"]["evenings"], 0.2);

    let args = ["compare", "a.toml", "b.toml", "--same-wish", "--trials", "16", "--out", "c"];
    let said = stilldays(&args, dir.path(), "C.UTF-8");
    assert!(!said.contains("different wishes"), "{said}");
    let same = json(&dir.path().join("c/compare.json"));
    assert_eq!(same["designs"][1]["season"]["wish"]["evenings"], 0.75);
    assert_eq!(same["differences"][0]["still_days"]["mean"], 0.0, "the designs differ in nothing else");
    let flags = same["designs"][0]["run"]["command"].as_str().unwrap();
    assert!(flags.contains("--same-wish"), "{flags}");
}

/// Without `--by`, remedies are ranked by the part of the wish that most years miss.
#[test]
fn remedies_are_ranked_by_what_the_wish_lacks() {
    let dir = tempfile::tempdir().unwrap();
    // Without a battery no evening reaches an hour after sunset.
    let text = std::fs::read_to_string(demo("mill-1-fixed-direct")).unwrap();
    let weather = format!("\"{}", demo("../weather/fenholm").with_extension("").display());
    let text = text.replace("\"../weather/fenholm", &weather).replace("04-01 to 10-31", "10-01 to 10-08");
    let without = text.replace("dusk_run = \"60 min\"", "still_days = 0");
    for (text, by) in [(text, "dusk-run"), (without, "still-days")] {
        std::fs::write(dir.path().join("a.toml"), text).unwrap();
        stilldays(&["remedies", "a.toml", "--trials", "32", "--out", "r"], dir.path(), "C.UTF-8");
        assert_eq!(json(&dir.path().join("r/a/remedies.json"))["by"], by);
    }
}

#[test]
fn a_design_is_not_told_apart_from_itself() {
    let dir = tempfile::tempdir().unwrap();
    let a = demo("mill-3-seeking-small-battery");
    let a = a.to_str().unwrap();
    let said = stilldays(&["compare", a, a, "--trials", "32", "--out", "c"], dir.path(), "C");
    fits(&said, true);
    assert!(said.contains("No difference: "), "{said}");
    let c = json(&dir.path().join("c/compare.json"));
    let against = &c["differences"][0];
    let mut seen = 0;
    let singles = ["still_days", "still_days_per_month", "dusk_run_min", "jet_min", "life_years"];
    let months = against["months"].as_array().unwrap().iter().map(|m| &m["still_days"]);
    for d in singles.iter().map(|k| &against[k]).chain(months) {
        for key in ["mean", "low", "high", "chance_lower", "chance_higher"] {
            assert_eq!(d[key].as_f64(), Some(0.0), "{key} of {d}");
        }
        assert_eq!(d["chance_same"].as_f64(), Some(1.0));
        seen += 1;
    }
    assert_eq!(seen, 12);
    assert!(against["price_per_still_day"].is_null(), "no still day is avoided");
    let (_, rows) = csv(&dir.path().join("c/compare.csv"));
    assert!(rows.iter().all(|r| r[14] != "yes"));
}

#[test]
fn designs_at_two_places_are_compared_as_independent_samples() {
    let dir = tempfile::tempdir().unwrap();
    let (a, b) = (demo("mill-3-seeking-small-battery"), demo("ridge-trough"));
    let args = ["compare", a.to_str().unwrap(), b.to_str().unwrap(), "--trials", "32", "--out", "c"];
    let said = stilldays(&args, dir.path(), "C");
    fits(&said, true);
    assert!(said.contains("independent") && said.contains("seasons differ in length"), "{said}");
    let c = json(&dir.path().join("c/compare.json"));
    let d = &c["differences"][0];
    assert_eq!(d["paired"], false);
    let season = |k: usize, path: &str| c["designs"][k].pointer(path).unwrap().as_f64().unwrap();
    let mut seen = 0;
    for (key, path) in [
        ("still_days", "/season/still_days"),
        ("still_days_per_month", "/season/still_days_per_month"),
        ("dusk_run_min", "/season/dusk_run_min"),
        ("jet_min", "/season/jet_min"),
    ] {
        let at = |k, what: &str| season(k, &format!("{path}/{what}"));
        let (mean, se) = (d[key]["mean"].as_f64().unwrap(), d[key]["se"].as_f64().unwrap());
        assert!((mean - (at(1, "mean") - at(0, "mean"))).abs() < 1e-3, "{key}: {mean}");
        let both = libm::hypot(at(0, "se"), at(1, "se"));
        assert!((se / both - 1.0).abs() < 1e-3, "{key}: {se} of {both}");
        // Student's t of 31 to 62 degrees of freedom.
        let half = (d[key]["high"].as_f64().unwrap() - d[key]["low"].as_f64().unwrap()) / 2.0;
        assert!((1.99..2.05).contains(&(half / se)), "{key}: {half} of {se}");
        seen += 1;
    }
    assert_eq!(seen, 4);
    assert!(d["life_years"]["low"].is_number());
    assert!(d["dusk_run_min"]["chance_lower"].is_null(), "not computable is never 0");
    assert!(d["still_days"]["chance_lower"].is_number());
}

/// Four times the battery behind the same voltages, with a pump that reconnects late: more jet, no fewer still days. Both
/// commands notice, say why, and name a reconnect voltage; with it there are significantly fewer still days than before.
#[test]
fn a_bigger_battery_that_waits_longer_is_noticed_and_cured() {
    let dir = tempfile::tempdir().unwrap();
    let weather = Path::new(env!("CARGO_MANIFEST_DIR")).join("weather");
    let paths = [
        ("small", "mill-3-seeking-small-battery", "6.46"),
        ("big", "mill-4-seeking-bigger-battery", "6.46"),
        ("cured", "mill-4-seeking-bigger-battery", "6.23"),
    ]
    .map(|(name, design, volts)| {
        let text =
            std::fs::read_to_string(demo(design)).unwrap().replace("../weather", weather.to_str().unwrap());
        let path = dir.path().join(format!("{name}.toml"));
        std::fs::write(&path, format!("{text}\n[electronics]\nreconnect = \"{volts} V\"\n")).unwrap();
        path
    });
    let paths = paths.each_ref().map(|p| p.to_str().unwrap());
    let args = [&["compare"], &paths[..], &["--trials", "64", "--out", "c"]].concat();
    let said = stilldays(&args, dir.path(), "C");
    fits(&said, true);
    assert!(said.contains("reconnect = \"6.23 V\""), "the cure is named: {said}");
    let c = json(&dir.path().join("c/compare.json"));
    let (waits, mended) = (&c["differences"][0], &c["differences"][1]);
    assert!(waits["jet_min"]["low"].as_f64() > Some(0.0) && waits["still_days"]["high"].as_f64() > Some(0.0));
    assert!(waits["notes"][0].as_str().unwrap().contains("waits for the reconnect voltage"), "{waits}");
    // Cured it has fewer still days than without the cure, and all the more jet.
    let mean = |d: &serde_json::Value| d["still_days"]["mean"].as_f64().unwrap();
    assert!(mean(mended) < mean(waits), "{mended}");
    assert!(mended["jet_min"]["mean"].as_f64() > waits["jet_min"]["mean"].as_f64(), "{mended}");

    let said = stilldays(&["remedies", paths[0], "--by", "still-days", "--trials", "32"], dir.path(), "C");
    let behind: String = said.lines().skip_while(|l| !l.contains("battery 6 Ah")).take(7).collect();
    let no_fewer = ["No clear difference from the design as it is.", "More still days,"];
    assert!(no_fewer.iter().any(|words| behind.contains(words)), "{said}");
    assert!(behind.contains("Remedy:"), "{said}");
}

/// A pump of which hardly anything is known: it is named as the largest uncertainty, in the numbers and on the page, next to
/// the requested remedies.
#[test]
fn one_uncertain_part_that_outweighs_all_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let weather = Path::new(env!("CARGO_MANIFEST_DIR")).join("weather");
    let text = std::fs::read_to_string(demo("mill-1-fixed-direct")).unwrap();
    let text =
        text.replace("../weather", weather.to_str().unwrap()).replace("04-01 to 10-31", "09-01 to 09-20");
    let vague: String = text
        .lines()
        .map(|l| match l.starts_with("bench") {
            true => "bench = [[\"3 V\", \"62 mA\", \"40 mm\"], [\"6 V\", \"155 mA\", \"80 to 480 mm\"]]\n"
                .to_owned(),
            false => format!("{l}\n"),
        })
        .collect();
    std::fs::write(dir.path().join("vague.toml"), vague).unwrap();
    let args = ["run", "vague.toml", "--trials", "128", "--remedies", "--units", "us"];
    stilldays(&args, dir.path(), "C");
    let folder = dir.path().join("results/vague");
    let s = json(&folder.join("summary.json"));
    let first = &s["shares"][0];
    assert_eq!(first["key"], "pump.bench[1].jet");
    let share = &first["still_days"];
    assert!(share["mean"].as_f64() > Some(0.5), "{share}");
    let page = std::fs::read_to_string(folder.join("report.html")).unwrap().replace('\u{a0}', " ");
    assert!(page.contains("For still days, measure the jet of the pump (bench row 2) first"));
    assert!(page.contains("What each single change is worth") && page.contains("panel twice as big"));
    assert!(page.contains("250 mm (9.84 in)"), "customary units beside those given");
    assert!(json(&folder.join("remedies.json"))["ranked"].as_array().unwrap().len() > 3);
    crate::browser::holds(&folder.join("report.html"));
}

#[test]
fn remedies_are_ranked_with_interval_price_and_reason() {
    let dir = tempfile::tempdir().unwrap();
    let path = demo("mill-3-seeking-small-battery");
    let args = ["remedies", path.to_str().unwrap(), "--by", "still-days", "--trials", "64"];
    let said = stilldays(&args, dir.path(), "C");
    fits(&said, true);
    // Hardly any frost from April to October: no trial differs, or so few that it may be chance.
    let same = said.contains("same in all 64 trials (at most 4.6 % differ)");
    assert!(same || said.contains("No clear difference from the design as it is."), "{said}");
    let folder = dir.path().join("results/mill-3-seeking-small-battery");
    let r = json(&folder.join("remedies.json"));
    assert_eq!((&r["schema"], &r["by"]), (&"stilldays.remedies/1".into(), &"still-days".into()));
    let ranked = r["ranked"].as_array().unwrap();
    assert!(ranked.len() >= 8, "{} remedies", ranked.len());
    let means: Vec<f64> =
        ranked.iter().map(|w| w["against"]["still_days"]["mean"].as_f64().unwrap()).collect();
    assert!(means.is_sorted(), "best first: {means:?}");
    assert!(means[0] < 0.0);
    assert!(ranked.iter().any(|w| w["own"] == true) && ranked.iter().any(|w| w["own"] == false));
    for w in ranked {
        assert_eq!(w["against"]["paired"], true);
        assert!(w["why"].as_str().unwrap().ends_with('.'), "{}", w["why"]);
    }
    let (head, rows) = csv(&folder.join("remedies.csv"));
    assert_eq!(head[..6], ["rank", "remedy", "own", "trials", "price", "price_per_still_day"]);
    assert_eq!(head.last().map(String::as_str), Some("why"));
    assert_eq!(rows.len(), ranked.len() + r["refused"].as_array().unwrap().len());
    assert!(std::fs::read_to_string(folder.join("remedies.html")).unwrap().contains("stilldays.remedies/1"));

    crate::browser::holds_on(&folder.join("remedies.html"), 3);
    let first = std::fs::read(folder.join("remedies.json")).unwrap();
    stilldays(&[&args[..], &["--threads", "1", "--quiet"]].concat(), dir.path(), "C");
    assert!(first == std::fs::read(folder.join("remedies.json")).unwrap(), "threads change no byte");
}

/// A basin filled every sixty days: of the wish only the water fails, and what keeps the water up comes first. A water remedy is
/// built in only for a basin that falls low.
#[test]
fn a_basin_that_falls_low_is_cured_by_water_first() {
    let dir = tempfile::tempdir().unwrap();
    let weather = Path::new(env!("CARGO_MANIFEST_DIR")).join("weather");
    let text = std::fs::read_to_string(demo("mill-6-fixed-battery")).unwrap();
    let text = text
        .replace("../weather", weather.to_str().unwrap())
        .lines()
        .filter(|l| !l.starts_with("top_up") && !l.starts_with("still_days") && !l.starts_with("dusk_run"))
        .map(|l| match l {
            "[wish]" => "[wish]\nstill_days = 28\n".to_owned(),
            "[water]" => "[water]\ntop_up = \"every 60 days\"\n".to_owned(),
            l => format!("{l}\n"),
        })
        .collect::<String>()
        .replace("04-01 to 10-31", "06-01 to 08-31");
    std::fs::write(dir.path().join("dry.toml"), &text).unwrap();
    let full = text.replace("every 60 days", "always");
    std::fs::write(dir.path().join("full.toml"), full).unwrap();

    stilldays(&["remedies", "dry.toml", "--trials", "32"], dir.path(), "C");
    let r = json(&dir.path().join("results/dry/remedies.json"));
    assert_eq!(r["by"], "low-water", "{}", r["design"]["season"]["wish"]);
    let first = &r["ranked"][0];
    assert_eq!(first["name"], "basin kept full by a float valve");
    assert!(first["low_water_min"]["high"].as_f64() < Some(0.0), "{first}");
    let lost = |w: &serde_json::Value| w["low_water_min"]["mean"].as_f64().unwrap();
    assert!(r["ranked"].as_array().unwrap().iter().all(|w| lost(w) >= lost(first)));

    stilldays(&["remedies", "full.toml", "--trials", "32"], dir.path(), "C");
    let r = json(&dir.path().join("results/full/remedies.json"));
    assert_eq!(r["by"], "still-days");
    let of_water = |w: &&serde_json::Value| w["name"].as_str().unwrap().contains("basin");
    assert!(r["ranked"].as_array().unwrap().iter().find(of_water).is_none());
}

/// 400 samples of 40 pairs of counts that share their weather and differ by 0.5 on average. The number of intervals that
/// cover is binomial: if each covers with a probability of 95 %, the share is outside 92 to 98 % with a probability of 0.44
/// % (exact sum), the false-alarm rate. The seed is fixed.
#[test]
fn paired_intervals_cover_as_often_as_they_say() {
    const SAMPLES: u64 = 400;
    let mut covered = 0;
    for sample in 0..SAMPLES {
        let mut luck = stream(5, Purpose::Resample, sample, 0);
        let mut pairs = Pairs::default();
        for _ in 0..40 {
            let mut days = |n: u32, p: f64| (0..n).filter(|_| luck.random::<f64>() < p).count() as f64;
            let shared = days(30, 0.2);
            let (first, second) = (shared + days(10, 0.1), shared + days(10, 0.15));
            pairs.push(first, second);
        }
        let d = pairs.difference(0.95).unwrap();
        covered += u64::from(d.low.unwrap() <= 0.5 && 0.5 <= d.high.unwrap());
    }
    let share = covered as f64 / SAMPLES as f64;
    println!("95 % intervals of a difference cover in {:.1} % of {SAMPLES} samples", share * 100.0);
    assert!((0.92..=0.98).contains(&share), "{share}");
}

/// The rule of `--until` on drawn counts: after each wave of 128 trials it asks whether 1.96 standard errors, widened by
/// [`SEQUENTIAL_MARGIN`], are below the goal. 400 repeats; the interval at the stop must cover in 92 to 98 % of them
/// (outside with a probability of 0.44 % if each covers with 95 %; the seed is fixed).
#[test]
fn the_stopping_rule_covers_as_often_as_it_says() {
    const REPEATS: u64 = 400;
    // Counts of a season: 30 days, each still with a chance of 10 % or, in a third of years, 40 %.
    let truth = 30.0 * (2.0 * 0.1 + 0.4) / 3.0;
    let (mut covered, mut stops) = (0, std::collections::BTreeSet::new());
    for repeat in 0..REPEATS {
        let mut luck = stream(17, Purpose::Resample, repeat, 0);
        let mut days = Moments::default();
        loop {
            for _ in 0..WAVE_TRIALS {
                let p = if luck.random::<f64>() < 1.0 / 3.0 { 0.4 } else { 0.1 };
                days.push((0..30).filter(|_| luck.random::<f64>() < p).count() as f64);
            }
            if Until::HalfWidth(0.38).met_by(days.n(), days.se().map(|se| 1.959_964 * se)) {
                let half = 1.959_964 * days.se().unwrap() * SEQUENTIAL_MARGIN;
                covered += u64::from((days.mean().unwrap() - truth).abs() <= half);
                stops.insert(days.n());
                break;
            }
        }
    }
    let share = covered as f64 / REPEATS as f64;
    println!(
        "the interval of --until covers in {:.1} % of {REPEATS} runs, stops at {stops:?}",
        share * 100.0
    );
    assert!((0.92..=0.98).contains(&share), "{share}");
    assert!(stops.len() > 1, "the rule must have been free to stop: {stops:?}");
}
