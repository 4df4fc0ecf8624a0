//! A good file with one kind of damage: the message, and what happens to the hours.

mod light;

use crate::weather_files::data;
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::{Read, Write};
use std::path::Path;
use stilldays::weather::{TypicalYear, load_from_bytes};

/// The text of a real file.
fn text(file: &str) -> String {
    let packed = std::fs::read(data().join(file)).expect("the file is there");
    let mut text = String::new();
    flate2::read::GzDecoder::new(&packed[..]).read_to_string(&mut text).expect("it unpacks");
    text
}

fn epw() -> String {
    text("chicago-il.epw.gz")
}

fn tmy3() -> String {
    text("greensboro-nc.tmy3.csv.gz")
}

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut out = GzEncoder::new(Vec::new(), Compression::fast());
    out.write_all(bytes).and_then(|()| out.finish()).expect("packs in memory")
}

fn refused(what: &str, bytes: &[u8], expected: &str) {
    match load_from_bytes(Path::new("damaged"), bytes) {
        Ok(year) => panic!("{what}: was taken, with {:?}", year.warnings),
        Err(problems) => {
            let shown = problems.to_string();
            assert!(shown.contains(expected), "{what}: expected `{expected}`, got\n{shown}");
            assert!(shown.contains("damaged"), "{what}: the file is not named in\n{shown}");
        }
    }
}

fn taken(what: &str, bytes: &[u8], expected: &str) -> TypicalYear {
    let year = load_from_bytes(Path::new("damaged"), bytes).unwrap_or_else(|e| panic!("{what}: {e}"));
    assert!(
        year.warnings.iter().any(|w| w.contains(expected)),
        "{what}: expected `{expected}` among {:#?}",
        year.warnings
    );
    year
}

/// The text with the rows (without head lines) changed: `change` gets the index of a row from 0 and
/// its fields.
fn with_rows(text: &str, head: usize, mut change: impl FnMut(usize, &mut Vec<String>)) -> String {
    let mut out = String::with_capacity(text.len() + 9000);
    for (k, line) in text.split_inclusive('\n').enumerate() {
        if k < head {
            out.push_str(line);
            continue;
        }
        let mut fields: Vec<String> = line.trim_end().split(',').map(str::to_owned).collect();
        change(k - head, &mut fields);
        if !fields.is_empty() {
            out.push_str(&fields.join(","));
            out.push('\n');
        }
    }
    out
}

const EPW_HEAD: usize = 8;
const GHI: usize = 13;
const DNI: usize = 14;
const DHI: usize = 15;

fn number(fields: &[String], k: usize) -> f64 {
    fields[k].parse().expect("a number")
}

#[test]
fn bytes_that_are_no_text_of_a_year() {
    refused("nothing", b"", "the file is empty");
    refused("blanks", b" \r\n\n ", "contains only whitespace");
    refused("a line of 100 kB", &vec![b'7'; 100 << 10], "line 1 is longer than 64 kB");
    let mut late = epw().into_bytes();
    late.extend(vec![b','; 70 << 10]);
    refused("a late long line", &late, "line 8769 is longer than 64 kB");
    refused("too large", &b"1,2,3\n".repeat(12 << 20), "larger than 64 MB");
    refused("zip", b"PK\x03\x04rest", "this is a zip archive");
    refused("UTF-16", b"\xff\xfeL\0O\0", "the text is in UTF-16");
    refused("binary", b"LOCATION,\0\0\0", "NUL bytes");
    refused("web page", b"  <html>404</html>", "this is a web page");
    let packed = gzip(epw().as_bytes());
    refused("gzip cut short", &packed[..packed.len() / 2], "the gzip data end early");
    let mut broken = packed.clone();
    let middle = broken.len() / 2;
    broken[middle..middle + 40].fill(0x55);
    refused("gzip damaged", &broken, "the gzip data are damaged");
    refused(
        "gzip bomb",
        &gzip(&b"0,0,0,0,0,0,0,0,0,0,0,0,0,0,0\n".repeat(3 << 20)),
        "unpack to more than 64 MB",
    );
    refused("gzip bomb of one line", &gzip(&vec![b'0'; 70 << 20]), "line 1 is longer than 64 kB");
}

/// What is wrong in the head of a plain file is shown in its own line.
#[test]
fn a_value_of_the_head_is_shown_in_its_line() {
    let packed = std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/weather/fenholm.csv.gz")).unwrap();
    let mut plain = String::new();
    flate2::read::GzDecoder::new(&packed[..]).read_to_string(&mut plain).unwrap();
    for (key, value) in [
        ("latitude_deg", "91"),
        ("longitude_deg", "361"),
        ("elevation_m", "99999"),
        ("elevation_m", "high"),
        ("utc_offset_h", "15"),
    ] {
        let (k, line) =
            plain.lines().enumerate().find(|(_, l)| l.starts_with(&format!("# {key} ="))).unwrap();
        let bad = plain.replace(line, &format!("# {key} = {value}"));
        let shown = format!(":{}:{}\n", k + 1, 6 + key.chars().count());
        let told = load_from_bytes(Path::new("head.csv"), bad.as_bytes()).map(drop).unwrap_err().to_string();
        assert!(told.contains(&shown) && told.contains(&format!("# {key} = {value}\n")), "{told}");
    }
}

#[test]
fn a_line_of_two_gigabytes_is_not_read_whole() {
    let file = tempfile::NamedTempFile::new().expect("a temporary file");
    // Sparse: takes no room on the disk.
    file.as_file().set_len(2 << 30).expect("a long file");
    let shown = stilldays::weather::load(file.path()).expect_err("no year").to_string();
    assert!(shown.contains("line 1 is longer than 64 kB"), "{shown}");
}

#[test]
fn order_doubles_and_finer_rows() {
    let good = epw();
    let mut lines: Vec<&str> = good.lines().collect();
    lines.swap(100, 101);
    refused(
        "swapped rows",
        lines.join("\n").as_bytes(),
        "rows are not in increasing order: 4 January 21:00 comes after 4 January 22:00 (line 101)",
    );
    lines.swap(100, 101);
    let mut doubled = lines.clone();
    doubled.insert(500, lines[500]);
    refused(
        "a double row",
        doubled.join("\n").as_bytes(),
        "line 502: duplicate row for 21 January 13:00 (first in line 501)",
    );
    let two_years: Vec<&str> = lines.iter().chain(&lines[EPW_HEAD..]).copied().collect();
    refused("two years", two_years.join("\n").as_bytes(), "1 January 01:00 comes after 31 December 24:00");
    let twice: Vec<&str> = lines
        .iter()
        .enumerate()
        .flat_map(|(k, l)| std::iter::repeat_n(*l, if k < EPW_HEAD { 1 } else { 2 }))
        .collect();
    refused("half-hours", twice.join("\n").as_bytes(), "17520 rows: the file has several rows per hour");
}

const PRESSURE: usize = 9;
const HUMIDITY: usize = 8;
const AIR: usize = 6;
const WIND: usize = 21;

/// The rows with some columns times a factor, in two decimals and more.
fn scaled(text: &str, columns: &[usize], factor: f64) -> Vec<u8> {
    with_rows(text, EPW_HEAD, |_, f| {
        for &k in columns {
            f[k] = format!("{}", number(f, k) * factor);
        }
    })
    .into_bytes()
}

#[test]
fn units_and_signs_of_the_air() {
    let good = epw();
    taken("km/h", &scaled(&good, &[WIND], 3.6), "m/s if in km/h");
    let storm =
        with_rows(&good, EPW_HEAD, |_, f| f[WIND] = format!("{}", (6.0 * number(f, WIND)).min(100.0)));
    refused("a storm of a year", storm.as_bytes(), "more than any inhabited place has");
    taken("a stuck anemometer", &scaled(&good, &[WIND], 0.01), "a stuck sensor?");
    refused("shares of humidity", &scaled(&good, &[HUMIDITY], 0.01), "values of 0 to 1 are shares");
    let unsigned = with_rows(&good, EPW_HEAD, |_, f| f[AIR] = f[AIR].trim_start_matches('-').to_owned());
    refused("signs of temperature", unsigned.as_bytes(), "the signs are lost");
    let turned = with_rows(&good, EPW_HEAD, |_, f| f[AIR] = format!("{}", -number(f, AIR)));
    taken("turned signs of temperature", turned.as_bytes(), "is colder than any place at latitude");
    let spike = with_rows(&good, EPW_HEAD, |k, f| {
        if k == 4000 {
            f[AIR] = "-60".into()
        }
    });
    let year =
        taken("an hour of -60 °C in June", spike.as_bytes(), "line 4009: air temperature more than 20 K");
    assert_eq!(year.hours[4000].map(|h| h.air_c), year.hours[3999].map(|h| h.air_c));
}

#[test]
fn heights_in_feet() {
    let good = epw();
    let high = good.replacen(",201.0\n", ",6001.0\n", 1);
    assert_ne!(high, good);
    taken("6001 ft", high.as_bytes(), "is the height in feet? 6001 ft are 1829 m");
    // 201 m are 659 ft; a place of 659 m has 93.6 kPa, one of 201 m 98.9.
    let with_pressure =
        |text: &str, pascal: &str| with_rows(text, EPW_HEAD, |_, f| f[PRESSURE] = pascal.into());
    let feet = good.replacen(",201.0\n", ",659.0\n", 1);
    taken(
        "659 ft",
        with_pressure(&feet, "98930").as_bytes(),
        "659 ft would be 201 m: is the height in feet?",
    );
    let year = taken("201 m", with_pressure(&good, "98930").as_bytes(), "rain");
    assert!(year.warnings.iter().all(|w| !w.contains("pressure")), "{:?}", year.warnings);
}

#[test]
fn real_years_and_demo_years_raise_no_suspicion() {
    let suspicions = ["clear sky", "exchanged", "contradict", "any place", "mean wind", "feet", "pressure"];
    let mut seen = 0;
    for folder in ["tests/data", "weather"] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            if !name.ends_with(".gz") || name.starts_with("de-bilt") {
                continue;
            }
            let year = stilldays::weather::load(&path).unwrap_or_else(|e| panic!("{e}"));
            for warning in &year.warnings {
                assert!(!suspicions.iter().any(|s| warning.contains(s)), "{name}: {warning}");
            }
            seen += 1;
        }
    }
    assert!(seen >= 8, "{seen}");
}

#[test]
fn missing_codes_and_missing_columns() {
    let good = epw();
    for code in ["9999", "-9999", "99990", ""] {
        let text = with_rows(&good, EPW_HEAD, |k, f| {
            if k == 5000 {
                f[GHI] = code.into()
            }
        });
        let year = taken("no GHI", text.as_bytes(), "line 5009: no GHI; the hours count as missing");
        assert!(year.hours[5000].is_none());
    }
    let text = with_rows(&good, EPW_HEAD, |k, f| {
        if k == 5000 {
            f[6] = "99.9".into()
        }
    });
    let year =
        taken("no temperature", text.as_bytes(), "line 5009: no air temperature; the last value was held");
    assert_eq!(year.hours[5000].map(|h| h.air_c), year.hours[4999].map(|h| h.air_c));
    let text = with_rows(&good, EPW_HEAD, |k, f| {
        if (5000..5012).contains(&k) {
            f[6] = "99.9".into()
        }
    });
    let year = taken(
        "no temperature for half a day",
        text.as_bytes(),
        "no air temperature; the hours count as missing",
    );
    assert_eq!(year.hours.iter().flatten().count(), 8760 - 9);
    let text = with_rows(&good, EPW_HEAD, |_, f| {
        f[DNI] = "9999".into();
        f[DHI] = "9999".into();
        f[8] = "999".into();
        f[21] = "999".into();
    });
    let year = taken("GHI alone", text.as_bytes(), "derived from GHI (Erbs, Klein & Duffie 1982)");
    assert!(year.closure.is_none());
    // Erbs against the file's own beam: published biases are some per cent of the year's sum.
    assert!((year.dni_kwh_m2() / 1294.0 - 1.0).abs() < 0.15, "{}", year.dni_kwh_m2());
    assert!(year.warnings.iter().any(|w| w.contains("dew point")), "{:?}", year.warnings);
    assert!(year.warnings.iter().any(|w| w.contains("2 m/s was assumed")), "{:?}", year.warnings);
    assert!(year.hours.iter().flatten().all(|h| (0.01..=1.0).contains(&h.humidity) && h.wind_m_s == 2.0));
    let text = with_rows(&good, EPW_HEAD, |_, f| f[DHI] = "9999".into());
    let year = taken("no DHI", text.as_bytes(), "no DHI; it was derived as GHI - DNI cos Z");
    let diffuse: f64 = year.hours.iter().flatten().map(|h| h.dhi_w_m2).sum::<f64>() / 1000.0;
    let own: f64 =
        taken("good", good.as_bytes(), "rain").hours.iter().flatten().map(|h| h.dhi_w_m2).sum::<f64>()
            / 1000.0;
    assert!((diffuse / own - 1.0).abs() < 0.02, "{diffuse} {own}");
}

#[test]
fn gaps_partial_years_and_leap_years() {
    let good = epw();
    let part = with_rows(&good, EPW_HEAD, |k, f| {
        if !(2160..5000).contains(&k) || k == 3000 {
            f.clear()
        }
    });
    let year = taken(
        "half a year with a gap",
        part.as_bytes(),
        "2839 rows instead of 8760; missing: 1 January 01:00 to 31 March 24:00, 6 May 01:00, 28 July 09:00 to 31 December 24:00",
    );
    assert_eq!(year.hours.iter().flatten().count(), 2839);
    let lines: Vec<&str> = good.lines().collect();
    let (before, after) = lines.split_at(EPW_HEAD + 59 * 24);
    let extra: Vec<String> =
        before[before.len() - 24..].iter().map(|line| line.replacen(",2,28,", ",2,29,", 1)).collect();
    let lines: Vec<&str> =
        before.iter().copied().chain(extra.iter().map(String::as_str)).chain(after.iter().copied()).collect();
    assert_eq!(lines.len(), EPW_HEAD + 8784);
    let year = taken("leap year", lines.join("\n").as_bytes(), "24 rows of 29 February were left out");
    assert_eq!(year.hours, taken("good", good.as_bytes(), "rain").hours);
}

#[test]
fn odd_dress_changes_no_value() {
    let good = taken("good", epw().as_bytes(), "rain");
    let crlf = epw().replace('\n', "\r\n");
    let year = taken("CRLF", crlf.as_bytes(), "rain");
    assert_eq!((&year.hours, &year.warnings), (&good.hours, &good.warnings));
    let marked = [b"\xef\xbb\xbf", epw().as_bytes()].concat();
    assert_eq!(taken("byte-order mark", &marked, "byte-order mark").hours, good.hours);
    let latin: Vec<u8> = epw().into_bytes().into_iter().map(|b| if b == b'*' { 0xe9 } else { b }).collect();
    assert_eq!(taken("Latin-1", &latin, "read as Latin-1").hours, good.hours);
    let packed = gzip(epw().as_bytes());
    assert_eq!(taken("gzip", &packed, "rain").hours, good.hours);
    let summer = epw().replace("SAVINGS,No,0,0,0", "SAVINGS,No,3/10,11/3,0");
    assert_eq!(
        taken("daylight saving", summer.as_bytes(), "daylight saving is declared from 3/10").hours,
        good.hours
    );
}

#[test]
fn a_quoted_head_and_a_leading_row_of_tmy3() {
    let good = taken("good", tmy3().as_bytes(), "rain");
    let (facts, rest) = tmy3().split_once('\n').map(|(a, b)| (a.to_owned(), b.to_owned())).expect("lines");
    let (header, rows) = rest.split_once('\n').expect("lines");
    let first = rows.lines().next().expect("a row").replacen("01:00", "00:00", 1);
    let odd = format!("\"{}\"\r\n{header}\n{first}\n{rows}", facts.trim_end().replace('"', "\"\""));
    let year = taken("quoted head", odd.as_bytes(), "the whole head line is in quotes");
    assert!(
        year.warnings.iter().any(|w| w.contains("line 3: the first row ends at 1 January 00:00")),
        "{:?}",
        year.warnings
    );
    assert_eq!((year.place, year.hours), (good.place, good.hours.clone()));
    // 24:00 may also be written as 00:00 of the next day.
    let midnight: String = {
        let dates: Vec<String> = rows.lines().map(|l| l[..10].to_owned()).collect();
        let lines = rows.lines().enumerate().map(|(k, line)| match line.contains(",24:00,") {
            true => line.replacen(
                &format!("{},24:00", &line[..10]),
                &format!("{},00:00", dates[(k + 1) % dates.len()]),
                1,
            ),
            false => line.to_owned(),
        });
        lines.collect::<Vec<_>>().join("\n")
    };
    let year = taken("midnight as 00:00", format!("{facts}\n{header}\n{midnight}").as_bytes(), "rain");
    assert_eq!(year.hours, good.hours);
    // Labels 00:00 to 23:00 are starts of hours.
    let starts: String = rows
        .lines()
        .map(|line| {
            let hour: u8 = line[11..13].parse().expect("an hour");
            format!("{}{:02}{}\n", &line[..11], hour - 1, &line[13..])
        })
        .collect();
    refused(
        "labels at the start",
        format!("{facts}\n{header}\n{starts}").as_bytes(),
        "these seem to be labelled by their start",
    );
}

#[test]
fn no_bytes_make_the_readers_panic() {
    // Short files of each format, so that damage meets every branch; whole years are met above.
    let short =
        |text: String, lines: usize| text.lines().take(lines).collect::<Vec<_>>().join("\n").into_bytes();
    let plain =
        std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/weather/bad/plain-few-rows.csv"));
    let seeds =
        [short(epw(), 60), short(tmy3(), 50), plain.expect("the corpus is there"), gzip(&short(epw(), 60))];
    let pieces: [&[u8]; 14] = [
        b"\"",
        b",",
        b"\n",
        b"\r\n",
        b"#",
        b"=",
        b"-",
        b"9999",
        b"1e308",
        b"24",
        b"0",
        b"\xff",
        b"\xc3\xa9",
        b"NaN",
    ];
    let mut tried = 0_u32;
    arbtest::arbtest(|u| {
        let mut bytes = u.choose(&seeds)?.clone();
        for _ in 0..u.int_in_range(1..=8)? {
            let at = u.choose_index(bytes.len().max(1))?.min(bytes.len());
            match u.int_in_range(0..=3)? {
                0 => bytes.truncate(at),
                1 => drop(bytes.splice(at..at, u.choose(&pieces)?.iter().copied())),
                2 => {
                    let end = (at + u.int_in_range(0..=20)?).min(bytes.len());
                    bytes.drain(at..end);
                }
                _ => {
                    if let Some(b) = bytes.get_mut(at) {
                        *b = u.arbitrary()?;
                    }
                }
            }
        }
        tried += 1;
        if let Err(problems) = load_from_bytes(Path::new("damaged"), &bytes) {
            assert!(problems.any_error() && !problems.to_string().is_empty());
        }
        Ok(())
    })
    .budget_ms(2_000);
    assert!(tried > 20, "only {tried} tried");
}
