//! The demo designs: each is accepted without a warning, and each of its remedies gives another design that is accepted.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use stilldays::design::{self, DesignFile, MountKind};
use stilldays::weather;

fn designs() -> Vec<DesignFile> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml") && !path.ends_with("shelf.toml"))
        .collect();
    paths.sort();
    assert!(paths.len() >= 9, "{} designs", paths.len());
    paths.iter().map(|path| design::read(path).unwrap_or_else(|p| panic!("{p}"))).collect()
}

#[test]
fn each_is_in_order_and_says_that_it_is_invented() {
    let mut titles = BTreeSet::new();
    for file in designs() {
        assert!(file.warnings.is_empty(), "{}", file.warnings);
        assert!(titles.insert(file.design.title.clone()), "two designs are called {}", file.design.title);
        assert!(file.text.to_lowercase().contains("invented"), "{}", file.path.display());
        for path in file.weather_paths() {
            let year = weather::load(&path).unwrap_or_else(|p| panic!("{p}"));
            assert!(year.invented && year.warnings.is_empty(), "{}: {:?}", path.display(), year.warnings);
        }
    }
}

#[test]
fn each_remedy_makes_a_design_in_order() {
    let mut remedies = 0;
    for file in designs() {
        for remedy in &file.remedies {
            let changed = file.patched(&remedy.name, &remedy.changes).unwrap_or_else(|p| panic!("{p}"));
            assert_ne!(
                changed.design,
                file.design,
                "{}: {} changes nothing",
                file.path.display(),
                remedy.name
            );
            remedies += 1;
        }
    }
    assert!(remedies >= 8, "{remedies} remedies");
}

/// The kinds of build that the demo shows, so that none is lost when designs change.
#[test]
fn the_demo_shows_each_kind_of_build() {
    let all = designs();
    let any = |what: &str, test: &dyn Fn(&DesignFile) -> bool| assert!(all.iter().any(test), "no {what}");
    any("fixed panel without battery", &|f| {
        f.design.mount.kind == MountKind::Fixed && f.design.battery.is_none()
    });
    any("light-seeking mount without battery", &|f| {
        f.design.mount.kind == MountKind::LightSeeking && f.design.battery.is_none()
    });
    any("light-seeking mount with battery", &|f| {
        f.design.mount.kind == MountKind::LightSeeking && f.design.battery.is_some()
    });
    any("fixed panel with battery", &|f| {
        f.design.mount.kind == MountKind::Fixed && f.design.battery.is_some()
    });
    any("skyline", &|f| !f.design.site.skyline.is_empty());
    any("whole year", &|f| f.design.wish.days().count() == 365);
    any("hours by the clock", &|f| matches!(f.design.wish.from, design::DayTime::Clock(_)));
}

/// One design with a rule, one without, and nothing else between them.
#[test]
fn the_pair_of_the_lamp_court_differs_in_its_rule_alone() {
    let all = designs();
    let named = |stem: &str| {
        all.iter().find(|f| f.path.file_stem().is_some_and(|s| s == stem)).unwrap_or_else(|| panic!("{stem}"))
    };
    let (without, with) = (&named("lamp-court").design, &named("lamp-court-reserve").design);
    assert!(without.running.control == design::Control::default() && with.running.control.reserve.is_some());
    let mut same = with.clone();
    same.title = without.title.clone();
    same.running = without.running.clone();
    assert_eq!(&same, without);
}

/// What the guide says of that pair: half an hour more of evening, for some hundred hours of jet by day.
#[test]
fn the_rule_of_the_lamp_court_buys_evenings() {
    let sites = stilldays::study::Sites::new();
    let season = |name: &str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenarios/{name}.toml"));
        let file = design::read(&path).unwrap_or_else(|p| panic!("{p}"));
        let plan = stilldays::study::Plan::new(file, &sites).unwrap_or_else(|p| panic!("{p}"));
        crate::common::summed_up(&plan, 16, 1, 1, stilldays::lanes::Isa::detect()).1.season
    };
    let (without, with) = (season("lamp-court"), season("lamp-court-reserve"));
    let evening_min = |s: &stilldays::tally::summary::Season| s.dusk_run_min.as_ref().expect("evenings").mean;
    let longer = evening_min(&with) - evening_min(&without);
    assert!((20.0..40.0).contains(&longer), "{longer} min");
    let fewer_h = (without.jet_min.mean - with.jet_min.mean) / 60.0;
    assert!((70.0..150.0).contains(&fewer_h), "{fewer_h} h");
    let met = |s: &stilldays::tally::summary::Season| s.wish.years_met;
    assert!(met(&without) < 0.6 && met(&with) > 0.8, "{} {}", met(&without), met(&with));
}
