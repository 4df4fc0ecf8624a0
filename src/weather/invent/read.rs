//! Reads a climate file: TOML, every value with its unit, all problems at once.

use super::climate::{Climate, Setting};
use super::{days, hours};
use crate::sky::Place;
use crate::source::{Problem, Problems};
use crate::units::{self, Dimension};
use std::ops::Range;
use std::path::Path;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Reads and checks a climate file.
///
/// # Errors
/// Everything that is wrong with it, each with its place.
pub fn read(path: &Path) -> Result<Climate, Problems> {
    let shown = path.display().to_string();
    let problem = |e: &str| Problems::from(Problem::error(format!("cannot be read: {e}")).in_file(&shown));
    let bytes = crate::disk::read::at_most(path, BYTES_MAX + 1).map_err(|e| problem(&e.to_string()))?;
    // Before it is taken for text: the cut may split a character.
    if bytes.len() as u64 > BYTES_MAX {
        return Err(problem("larger than 1 MB: this is not a climate file"));
    }
    let text = String::from_utf8(bytes).map_err(|_| problem("the text is not UTF-8: save it as UTF-8"))?;
    parse(&shown, &text)
}

/// Checks the text of a climate file; `path` is for messages.
///
/// # Errors
/// Everything that is wrong with it, each with its place.
pub fn parse(path: &str, text: &str) -> Result<Climate, Problems> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let root = match DeTable::parse(text) {
        Ok(root) => root,
        Err(e) => {
            let problem = Problem::error(format!("this is not valid TOML: {}", e.message()));
            return Err(problem.at(path, text, e.span().unwrap_or(0..0), "here").into());
        }
    };
    let mut r = Reader { path, text, problems: Problems::new() };
    let climate = r.climate(root.get_ref());
    r.problems.sort();
    match climate {
        Some(climate) if !r.problems.any_error() => Ok(climate),
        _ => Err(r.problems),
    }
}

/// A kind of value and its range, base unit.
struct Kind {
    dimension: Dimension,
    range: (f64, f64),
    unit: &'static str,
    example: &'static str,
}

const LATITUDE: Kind =
    Kind { dimension: Dimension::Angle, range: (-90.0, 90.0), unit: "deg", example: "55.2 deg" };
const LONGITUDE: Kind =
    Kind { dimension: Dimension::Angle, range: (-180.0, 180.0), unit: "deg", example: "-3.1 deg" };
const ELEVATION: Kind =
    Kind { dimension: Dimension::Length, range: (-500.0, 9000.0), unit: "m", example: "120 m" };
const UTC_OFFSET: Kind =
    Kind { dimension: Dimension::Hours, range: (-12.0, 14.0), unit: "h", example: "1 h" };
const INSOLATION: Kind = Kind {
    // Energy per area: read as an energy; the area is removed from the unit first.
    dimension: Dimension::Energy,
    range: (0.0, 12.0),
    unit: "kWh/m2",
    example: "1.3 2.2 3.5 4.7 5.4 6.1 6.2 5.3 4.0 2.5 1.5 1.1 kWh/m2",
};
const TEMPERATURE: Kind = Kind {
    dimension: Dimension::Temperature,
    range: (-60.0, 50.0),
    unit: "°C",
    example: "0 2 7 11 15 19 21 20 16 11 5 1 °C",
};
const WIND: Kind = Kind {
    dimension: Dimension::Speed,
    range: (0.1, 25.0),
    unit: "m/s",
    example: "2.2 2.4 2.8 3.0 2.9 2.8 2.8 2.6 2.4 2.2 2.2 2.1 m/s",
};
const RAIN: Kind = Kind {
    dimension: Dimension::SmallLength,
    range: (0.0, 3000.0),
    unit: "mm",
    example: "55 50 45 40 50 60 55 60 45 50 55 65 mm",
};
/// Units of daily irradiation, with kWh/m² in one of each; an hour of peak sun is 1 kWh/m².
const INSOLATION_UNITS: [(&str, f64); 5] =
    [("kWh/m2", 1.0), ("kWh/m²", 1.0), ("h", 1.0), ("MJ/m2", 1.0 / 3.6), ("MJ/m²", 1.0 / 3.6)];

impl Kind {
    /// One number with its unit, in the base unit.
    fn value(&self, number: &str, unit: &str) -> Result<f64, (String, String)> {
        if let Dimension::Energy = self.dimension {
            let factor = INSOLATION_UNITS.iter().find(|(name, _)| *name == unit).map(|(_, f)| f);
            let number = number.parse::<f64>().ok();
            let help = || format!("kWh/m2, MJ/m2 or peak sun hours (h); for example \"{}\"", self.example);
            return match (number, factor) {
                (Some(n), Some(f)) => Ok(n * f),
                _ if unit.is_empty() => Err(("this value has no unit".into(), help())),
                _ => Err((format!("`{unit}` is not a unit of daily irradiation"), help())),
            };
        }
        let text = format!("{number} {unit}");
        match units::parse(text.trim_end(), self.dimension) {
            Ok(q) if q.is_exact() => Ok(q.nominal),
            Ok(_) => Err((
                "expected a single value without a tolerance".into(),
                format!("for example \"{}\"", self.example),
            )),
            Err(e) => Err((e.title, format!("{}; for example \"{}\"", e.help, self.example))),
        }
    }
}

/// Wind where none is given, m/s (own choice).
const WIND_DEFAULT_M_S: f64 = 3.0;
/// Step to which tables round daily means of light, kWh/m².
const ROUNDED_TO_KWH_M2: f64 = 0.01;
/// Largest file that is read, bytes.
const BYTES_MAX: u64 = 1 << 20;

type Table<'i> = DeTable<'i>;
type Value<'i> = Spanned<DeValue<'i>>;

struct Reader<'a> {
    path: &'a str,
    text: &'a str,
    problems: Problems,
}

impl Reader<'_> {
    fn climate(&mut self, root: &Table<'_>) -> Option<Climate> {
        self.unknown_keys(root, "", &["title", "origin", "place", "months"]);
        let title = self.text_of(root, "title").unwrap_or_else(|| "a place".into());
        let origin = self.text_of(root, "origin").unwrap_or_else(|| "source not stated".into());
        let place_table = self.table(root, "place");
        let months_table = self.table(root, "months");

        let mut place = None;
        let mut setting = Setting::Inland;
        if let Some(t) = place_table {
            let keys = ["latitude", "longitude", "elevation", "utc_offset", "setting"];
            self.unknown_keys(t, "place", &keys);
            let lat = self.required(t, "place", "latitude", &LATITUDE);
            let lon = self.required(t, "place", "longitude", &LONGITUDE);
            let utc = self.required(t, "place", "utc_offset", &UTC_OFFSET);
            let elevation = match get(t, "elevation") {
                Some(v) => self.numbers::<1>(v, &ELEVATION).map(|[m]| m),
                None => Some(0.0),
            };
            if let Some(v) = get(t, "setting") {
                setting = self.setting(v);
            }
            if let (Some(lat), Some(lon), Some(utc), Some(elevation)) = (lat, lon, utc, elevation) {
                self.clock_fits(t, lon, utc);
                place = Some(Place {
                    latitude_deg: lat,
                    longitude_deg: lon,
                    elevation_m: elevation,
                    utc_offset_h: utc,
                });
            }
        }
        let t = months_table?;
        self.unknown_keys(t, "months", &["insolation", "temperature", "wind", "rain"]);
        let insolation = self.required_months(t, "insolation", &INSOLATION);
        let air_c = self.required_months(t, "temperature", &TEMPERATURE);
        let wind = match get(t, "wind") {
            Some(v) => self.numbers::<12>(v, &WIND),
            None => Some([WIND_DEFAULT_M_S; 12]),
        };
        let rain_mm = get(t, "rain").and_then(|v| self.numbers::<12>(v, &RAIN));
        let (place, mut insolation_kwh_m2) = (place?, insolation?);
        self.within_the_sun(get(t, "insolation")?, &place, &mut insolation_kwh_m2);
        Some(Climate {
            title,
            origin,
            place,
            setting,
            insolation_kwh_m2,
            air_c: air_c?,
            wind_m_s: wind?,
            rain_mm,
        })
    }

    /// Refuses a clock more than three hours off the sun: that is a missing sign, not a time zone.
    fn clock_fits(&mut self, table: &Table<'_>, longitude_deg: f64, utc_offset_h: f64) {
        let mut off = utc_offset_h - longitude_deg / 15.0;
        off -= 24.0 * (off / 24.0).round();
        if off.abs() > 3.0
            && let Some(v) = get(table, "longitude")
        {
            let help = format!(
                "solar time there is UTC {:+.1} h; west longitudes are negative: is the sign missing?",
                longitude_deg / 15.0
            );
            self.error(
                format!(
                    "the clock (UTC {utc_offset_h:+} h) is {:.1} h off the sun at this longitude",
                    off.abs()
                ),
                v.span(),
                "longitude",
                help,
            );
        }
    }

    /// Refuses means that the sun cannot give there, from the thickest cloud to the clearest sky. Tables of means are rounded to
    /// [`ROUNDED_TO_KWH_M2`]: what rounding alone put beyond a limit is taken for the limit.
    fn within_the_sun(&mut self, value: &Value<'_>, place: &Place, insolation: &mut [f64; 12]) {
        let days = days::days_of(&hours::sun_of_year(place));
        let words = words(value.get_ref().as_str().unwrap_or_default());
        for (month, (darkest, brightest)) in days::limits_kwh_m2(&days).into_iter().enumerate() {
            let half = 0.5 * ROUNDED_TO_KWH_M2;
            let found = insolation[month];
            if (darkest - half..=brightest + half).contains(&found) {
                insolation[month] = found.clamp(darkest, brightest);
                continue;
            }
            let (than, help) = if found > brightest {
                ("more than the sun gives there under clear skies", format!("at most {brightest:.2}"))
            } else {
                ("less than gets through the thickest cloud there", format!("at least {darkest:.2}"))
            };
            let span = words.get(month).map_or(value.span(), |(r, _)| inside(value, r.clone()));
            self.error(
                format!("{found:.2} kWh/m² a day in month {} is {than}", month + 1),
                span,
                "",
                format!(
                    "{help}; are the twelve numbers daily means on the level, January first, and is the latitude's sign right?"
                ),
            );
        }
    }

    fn table<'t, 'i>(&mut self, root: &'t Table<'i>, key: &str) -> Option<&'t Table<'i>> {
        let Some(v) = get(root, key) else {
            let problem = Problem::error(format!("missing table [{key}]")).in_file(self.path);
            self.problems.push(problem.help("a climate file has the tables [place] and [months]"));
            return None;
        };
        let table = v.get_ref().as_table();
        if table.is_none() {
            self.error(format!("`{key}` should be a table"), v.span(), "", format!("write [{key}]"));
        }
        table
    }

    fn text_of(&mut self, table: &Table<'_>, key: &str) -> Option<String> {
        let v = get(table, key)?;
        let text = v.get_ref().as_str().map(str::to_owned);
        if text.is_none() {
            self.error(format!("`{key}` should be text"), v.span(), "", format!("for example {key} = \"…\""));
        }
        text.map(|t| t.chars().map(|c| if c.is_control() { ' ' } else { c }).collect())
    }

    fn setting(&mut self, v: &Value<'_>) -> Setting {
        match v.get_ref().as_str() {
            Some("coast") => Setting::Coast,
            Some("inland") => Setting::Inland,
            _ => {
                self.error("unknown setting".into(), v.span(), "", "\"coast\" or \"inland\"".into());
                Setting::Inland
            }
        }
    }

    fn required(&mut self, table: &Table<'_>, of: &str, key: &str, kind: &Kind) -> Option<f64> {
        match get(table, key) {
            Some(v) => self.numbers::<1>(v, kind).map(|[v]| v),
            None => self.missing(of, key, kind),
        }
    }

    fn required_months(&mut self, table: &Table<'_>, key: &str, kind: &Kind) -> Option<[f64; 12]> {
        match get(table, key) {
            Some(v) => self.numbers::<12>(v, kind),
            None => self.missing("months", key, kind),
        }
    }

    fn missing<T>(&mut self, table: &str, key: &str, kind: &Kind) -> Option<T> {
        let problem = Problem::error(format!("missing key `{key}` in [{table}]")).in_file(self.path);
        self.problems.push(problem.help(format!("for example {key} = \"{}\"", kind.example)));
        None
    }

    /// `N` numbers and one unit behind them.
    fn numbers<const N: usize>(&mut self, value: &Value<'_>, kind: &Kind) -> Option<[f64; N]> {
        let example = format!("for example \"{}\"", kind.example);
        let Some(text) = value.get_ref().as_str() else {
            self.error("a value needs its unit, in quotes".into(), value.span(), "no unit", example);
            return None;
        };
        let words = words(text);
        let is_number = |word: &str| word.parse::<f64>().is_ok_and(f64::is_finite);
        let count = words.iter().take_while(|(_, word)| is_number(word)).count();
        let unit_at = words.get(count).map_or(text.len(), |(range, _)| range.start);
        let unit = text[unit_at..].trim_end();
        if count != N {
            let wanted = if N == 12 { "twelve, January first," } else { "one number" };
            let found = if count == 1 { "one number".into() } else { format!("{count} numbers") };
            self.error(format!("{found}; expected {wanted} and a unit"), value.span(), "", example);
            return None;
        }
        let mut out = [0.0; N];
        for (out, (range, number)) in out.iter_mut().zip(&words[..count.min(N)]) {
            match kind.value(number, unit) {
                Ok(v) => *out = v,
                Err((title, help)) => {
                    let at = if unit.is_empty() { value.span() } else { inside(value, unit_at..text.len()) };
                    self.error(title, at, "", help);
                    return None;
                }
            }
            if !(kind.range.0..=kind.range.1).contains(out) {
                let (low, high) = kind.range;
                self.error(
                    format!("{number} {unit} is out of range"),
                    inside(value, range.clone()),
                    "",
                    format!("allowed: {low} to {high} {}", kind.unit),
                );
            }
        }
        Some(out)
    }

    fn unknown_keys(&mut self, table: &Table<'_>, name: &str, known: &[&str]) {
        for (key, _) in table.iter() {
            let found: &str = key.get_ref();
            if known.contains(&found) {
                continue;
            }
            let near = known
                .iter()
                .map(|k| (strsim::jaro_winkler(k, found), *k))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .filter(|(likeness, _)| *likeness > 0.8);
            let place = if name.is_empty() { String::new() } else { format!(" in [{name}]") };
            let help = match near {
                Some((_, k)) => format!("did you mean `{k}`?"),
                None => format!("known keys: {}", known.join(", ")),
            };
            self.error(format!("unknown key `{found}`{place}"), key.span(), "not known", help);
        }
    }

    fn error(&mut self, title: String, span: Range<usize>, label: &str, help: String) {
        self.problems.push(Problem::error(title).at(self.path, self.text, span, label).help(help));
    }
}

fn get<'t, 'i>(table: &'t Table<'i>, key: &str) -> Option<&'t Value<'i>> {
    table.iter().find(|(name, _)| name.get_ref() == key).map(|(_, value)| value)
}

/// Position in the file of a range of a plain string; right unless the string has escapes.
fn inside(value: &Value<'_>, range: Range<usize>) -> Range<usize> {
    let start = value.span().start + 1;
    start + range.start..start + range.end
}

/// The words of a text, with their positions.
fn words(text: &str) -> Vec<(Range<usize>, &str)> {
    let base = text.as_ptr() as usize;
    text.split_whitespace()
        .map(|word| {
            let start = word.as_ptr() as usize - base;
            (start..start + word.len(), word)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::invent::STARTER;

    #[test]
    fn the_starter_is_accepted() {
        let climate = parse("starter.toml", STARTER).unwrap_or_else(|p| panic!("{p}"));
        assert_eq!(climate.title, "Our hillside");
        assert_eq!(climate.rain_mm.unwrap()[11], 65.0);
    }

    #[test]
    fn every_problem_is_shown_at_once_with_its_place() {
        let bad = STARTER
            .replace("utc_offset = \"1 h\" ", "utc_ofset = \"1 h\"")
            .replace("6.2 5.3", "62 5.3")
            .replace("45 50 55 65 mm", "45 50 55 65 kg")
            .replace("11 5 1 °C", "11 5 °C");
        let text = parse("bad.toml", &bad).unwrap_err().to_string();
        for said in ["did you mean `utc_offset`?", "62 kWh/m2 is out of range", "`kg`", "11 numbers"] {
            assert!(text.contains(said), "{said} not in:\n{text}");
        }
    }

    #[test]
    fn a_lost_sign_and_an_impossible_sun_are_found() {
        let lost = STARTER.replace("\"7.4 deg\"", "\"-97.4 deg\"");
        let text = parse("bad.toml", &lost).unwrap_err().to_string();
        assert!(text.contains("is the sign missing?"), "{text}");
        let south = STARTER.replace("\"46.2 deg\"", "\"-46.2 deg\"");
        let text = parse("bad.toml", &south).unwrap_err().to_string();
        assert!(text.contains("month 6 is more than the sun gives"), "{text}");
        let dark = STARTER.replace("insolation = \"1.3 2.2", "insolation = \"1.3 0.02");
        let text = parse("bad.toml", &dark).unwrap_err().to_string();
        assert!(text.contains("month 2 is less than gets through"), "{text}");
    }
}
