//! The functions that the fuzzers call with bytes, and `cargo test` with the seeds (`tests/it/fuzz_seeds.rs`).
//!
//! Each function panics if the program would, or if it accepts what it must refuse. It returns whether the bytes are of its
//! kind, so that nine fuzzers do not all end up with the same files.

use sha2::{Digest, Sha256};
use std::path::Path;
use std::sync::{Arc, OnceLock};
use stilldays::design::{self, Change};
use stilldays::logbook;
use stilldays::report;
use stilldays::sky::Calendar;
use stilldays::source::{Problems, is_terminal_control};
use stilldays::study::batch::Identity;
use stilldays::study::batch::checkpoint::{Checkpoint, Flaw};
use stilldays::study::{Plan, SiteModel, summary};
use stilldays::tally::{Summary, Tally};
use stilldays::units::{self, Dimension, System, Uncertain};
use stilldays::weather::file::describe;
use stilldays::weather::{self, DonorPool, Sampler, TypicalYear, invent};

/// A design with a battery, an uncertain quantity and a short season.
const DESIGN: &str = "title = \"basin\"\n[site]\nweather = \"w.csv\"\n\
    [wish]\nseason = \"11-10 to 11-12\"\nhours = \"10:00 to sunset + 1 h\"\njet = \"20 cm\"\n\
    [panel]\nrated_power = \"3 W ± 10 %\"\nopen_circuit_voltage = \"10.8 V\"\n\
    [battery]\nchemistry = \"lithium iron phosphate\"\nvoltage = \"6.4 V\"\ncapacity = \"1 Ah\"\n\
    [pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n";

/// That design at an invented place, made once.
pub fn plan() -> &'static Plan {
    static PLAN: OnceLock<Plan> = OnceLock::new();
    PLAN.get_or_init(|| {
        let file = design::parse(Path::new("basin.toml"), DESIGN.to_owned()).unwrap();
        let climate = invent::parse("starter.toml", invent::STARTER).unwrap();
        Plan::at(file, Arc::new(site(invent::year(&climate, 1)).unwrap()))
    })
}

/// A place with one typical year; `None` if it has no whole day.
fn site(year: TypicalYear) -> Option<SiteModel> {
    let calendar = Arc::new(Calendar::new(year.place, year.turbidity));
    let years = vec![year];
    let pool = DonorPool::new(&years, &calendar);
    if pool.donors().is_empty() {
        return None;
    }
    let sampler = Sampler::over(pool, &years, Arc::clone(&calendar), design::YearSpread::ByClimate);
    Some(SiteModel { sha256: years[0].sha256.clone(), years, calendar, sampler })
}

/// A refusal says why, and contains no terminal control characters.
fn refused(problems: &Problems) {
    assert!(problems.any_error());
    let shown = problems.to_string();
    assert!(!shown.is_empty());
    assert!(!shown.contains(|c| is_terminal_control(c) && c != '\n'), "{shown:?}");
    problems.render_styled();
}

/// A design file.
pub fn design(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    let file = match design::parse(Path::new("fuzz.toml"), text.to_owned()) {
        Ok(file) => file,
        Err(problems) => {
            refused(&problems);
            return true;
        }
    };
    for u in [f64::MIN_POSITIVE, 0.5, 1.0 - f64::EPSILON] {
        file.design.draw(&mut |_| u).map(&mut |key, value| assert!(value.is_finite(), "{key}: {value}"));
    }
    let _ = (design::cautions(&file.design), file.warning_lines(), file.design.price());
    for (key, change) in [
        ("battery.capacity", Change::Scale(2.0)),
        ("panel.rated_power", Change::Scale(2.0)),
        ("battery", Change::Remove),
        ("wish.jet", Change::Set("25 cm".into())),
    ] {
        if let Err(problems) = file.patched("fuzzed", &[(key.to_owned(), change)]) {
            refused(&problems);
        }
    }
    true
}

/// What the program does with an accepted design: a season at a place. Too slow for a fuzzer; used for seeds.
pub fn planned(bytes: &[u8]) -> bool {
    let text = String::from_utf8(bytes.to_vec()).unwrap_or_default();
    let Ok(file) = design::parse(Path::new("fuzz.toml"), text) else { return false };
    let plan = Plan::at(file, Arc::clone(&plan().site));
    !plan.scene.days.is_empty()
}

/// A quantity: the first byte chooses its kind.
pub fn quantity(bytes: &[u8]) -> bool {
    let Some((kind, text)) = bytes.split_first() else { return false };
    let Ok(text) = std::str::from_utf8(text) else { return false };
    let kind = Dimension::ALL[usize::from(*kind) % Dimension::ALL.len()];
    match units::parse(text, kind) {
        Ok(q) => {
            let (lo, hi) = (q.lowest(), q.highest());
            assert!(q.nominal.is_finite() && lo <= q.nominal && q.nominal <= hi, "{text:?}: {q:?}");
            for system in [System::Si, System::Us] {
                assert!(!units::show_uncertain(&q, kind, 3, system).is_empty());
            }
            again(&q, kind);
        }
        Err(e) => {
            assert!(text.get(e.span.clone()).is_some(), "{text:?}: {:?}", e.span);
            assert!(!e.title.is_empty() && !e.help.is_empty());
        }
    }
    let _ = (units::duration_min(text), units::dates::day_of_year(text));
    true
}

/// A quantity that is written out reads back as the same quantity, to the last digits.
fn again(q: &Uncertain, kind: Dimension) {
    let size = q.lowest().abs().max(q.highest().abs());
    if !(1e-9..1e9).contains(&size) {
        return; // beyond anything a design may hold, digits or the exponent run out
    }
    let written = units::text(q, kind);
    let back = units::parse(&written, kind).unwrap_or_else(|e| panic!("{written}: {}", e.title));
    for (a, b) in [(q.nominal, back.nominal), (q.lowest(), back.lowest()), (q.highest(), back.highest())] {
        assert!((a - b).abs() <= 1e-9 * size, "{q:?} written as {written} is read as {back:?}");
    }
}

/// A logbook.
pub fn logbook(bytes: &[u8]) -> bool {
    let told = std::str::from_utf8(bytes).is_ok_and(|text| text.contains("date"));
    match logbook::parse(Path::new("fuzz.csv"), bytes) {
        Ok(logbook) => {
            assert!(!logbook.entries.is_empty());
            for e in &logbook.entries {
                let numbers =
                    [e.value.unwrap_or(0.0), e.minute.unwrap_or(0.0), e.clock_minute.unwrap_or(0.0)];
                assert!(numbers.iter().all(|x| x.is_finite()) && e.sd.is_finite() && e.sd >= 0.0, "{e:?}");
                assert!(e.minute.is_none_or(|m| (-60.0..1440.0).contains(&m)), "{e:?}");
            }
            if let Err(problems) = logbook::fits(&logbook, &plan().file.design) {
                refused(&problems);
            }
        }
        Err(problems) => refused(&problems),
    }
    told
}

/// A climate file.
pub fn climate(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    match invent::parse("fuzz.toml", text) {
        Ok(climate) => {
            let year = invent::year(&climate, 1);
            let sound = |x: f64| x.is_finite();
            assert!(
                year.hours.iter().flatten().all(|h| {
                    sound(h.ghi_w_m2) && sound(h.dni_w_m2) && sound(h.dhi_w_m2) && sound(h.air_c)
                }),
                "{text}"
            );
        }
        Err(problems) => refused(&problems),
    }
    true
}

/// An EPW file.
pub fn weather_epw(bytes: &[u8]) -> bool {
    bytes.get(..9).is_some_and(|b| b.eq_ignore_ascii_case(b"LOCATION,")) && year(bytes)
}

/// A TMY3 file.
pub fn weather_tmy3(bytes: &[u8]) -> bool {
    let second = bytes.splitn(3, |b| *b == b'\n').nth(1);
    second.is_some_and(|line| line.starts_with(b"Date (")) && year(bytes)
}

/// Our plain CSV.
pub fn weather_plain(bytes: &[u8]) -> bool {
    bytes.starts_with(b"# stilldays weather 1\n") && year(bytes)
}

fn year(bytes: &[u8]) -> bool {
    match weather::load_from_bytes(Path::new("fuzz.csv"), bytes) {
        Ok(year) => {
            for hour in year.hours.iter().flatten() {
                let light = [hour.ghi_w_m2, hour.dni_w_m2, hour.dhi_w_m2];
                assert!(light.iter().all(|w| w.is_finite() && *w >= 0.0), "{hour:?}");
                assert!([hour.air_c, hour.humidity, hour.wind_m_s].iter().all(|x| x.is_finite()), "{hour:?}");
            }
            describe::describe(&year);
        }
        Err(problems) => refused(&problems),
    }
    true
}

/// What the program does with an accepted weather file: fit, chain and minutes. Too slow for a fuzzer; used for seeds.
pub fn sampled(bytes: &[u8]) -> bool {
    let Ok(year) = weather::load_from_bytes(Path::new("fuzz.csv"), bytes) else { return false };
    let Some(site) = site(year) else { return false };
    let donors = site.sampler.chain(1, 0, 0, 400);
    assert_eq!(donors.len(), 400);
    let mut minutes = 0;
    let isa = stilldays::lanes::Isa::detect();
    stilldays::study::sampled_years::minutes_of_trial(&site.sampler, isa, 1, 0, 120..123, |m| {
        assert!(m.dni_w_m2.is_finite() && m.dhi_w_m2.is_finite(), "{m:?}");
        minutes += 1;
    });
    minutes > 0
}

/// A tally of [`plan`]'s season with these bytes between a correct head and a correct checksum.
pub fn as_tally(body: &[u8]) -> Result<Tally, stilldays::tally::Damage> {
    static HEAD: OnceLock<Vec<u8>> = OnceLock::new();
    // Magic, format, fingerprint.
    let head = HEAD.get_or_init(|| Tally::new(&plan().layout).to_bytes()[..44].to_vec());
    Tally::from_bytes(&sealed(&[head, body].concat()))
}

/// The bytes after the head of a tally.
pub fn tally(body: &[u8]) -> bool {
    let plan = plan();
    let _ = Tally::from_bytes(body);
    let Ok(tally) = as_tally(body) else { return true };
    let bytes = tally.to_bytes();
    // Not the same bytes perhaps (a number may be written in more groups than it needs), but the same tally.
    assert_eq!(Tally::from_bytes(&bytes).map(|t| t.to_bytes()), Ok(bytes));
    let mut both = Tally::new(&plan.layout);
    if both.merge(&tally).is_err() {
        return true;
    }
    both.merge(&tally).unwrap();
    let _ = both.still_days_per_month();
    let Some(summary) = summary::summarise(plan, &tally, 1, "stilldays run basin.toml".to_owned()) else {
        return true;
    };
    let json = report::json::bytes(&summary);
    let _ = serde_json::from_slice::<Summary>(&json);
    report::html::run(&summary, &[], System::Us);
    report::csv::months(&summary);
    report::csv::distributions(&summary);
    let style = report::Style { width: 80, colour: false, unicode: true, units: System::Si };
    report::text::run(&summary, None, style);
    true
}

/// A checkpoint with these bytes after its format, and a correct head and checksums.
pub fn as_checkpoint(body: &[u8]) -> Result<Checkpoint, Flaw> {
    let mut bytes = [b"stlcheck\x01\0\0\0", body].concat();
    let length = |bytes: &[u8], at: usize| -> Option<usize> {
        Some(u32::from_le_bytes(*bytes.get(at..)?.first_chunk()?) as usize)
    };
    // The tally inside has a checksum of its own: it lies after the identity, three numbers and its length.
    let inner = length(&bytes, 12).and_then(|identity| {
        let start = identity + 16 + 24 + 4;
        Some(start..start + length(&bytes, start - 4)?)
    });
    if let Some(tally) = inner.and_then(|range| bytes.get_mut(range))
        && let Some((body, sum)) = tally.split_last_chunk_mut::<32>()
    {
        *sum = Sha256::digest(body).into();
    }
    Checkpoint::from_bytes(&sealed(&bytes))
}

/// The bytes of a checkpoint after its format.
pub fn checkpoint(body: &[u8]) -> bool {
    let _ = Checkpoint::from_bytes(body);
    let Ok(found) = as_checkpoint(body) else { return true };
    assert_eq!(Checkpoint::from_bytes(&found.to_bytes()).as_ref(), Ok(&found));
    for trials in [0, 1, 48, 10_000_000] {
        found.adds_up(trials);
    }
    let other = Identity { seed: found.identity.seed.wrapping_add(1), ..found.identity.clone() };
    assert!(found.identity.differs_from(&other).is_some());
    true
}

fn sealed(bytes: &[u8]) -> Vec<u8> {
    let sum: [u8; 32] = Sha256::digest(bytes).into();
    [bytes, &sum].concat()
}
