//! The reference page of every key, made from the key table.

use std::fmt::Write as _;

use super::keys::{Fallback, Key, Kind, Only, TABLES};
use crate::units::{Dimension, System, show};

/// Every table and key a design may hold, as Markdown: what may be written, what holds if it is
/// left out, the allowed range, what it means.
pub fn reference() -> String {
    let mut page = String::from(INTRODUCTION);
    for (table, rows, about) in TABLES {
        let heading = if table.is_empty() { "Top of the file".into() } else { format!("`[{table}]`") };
        // Writing to a String cannot fail.
        let _ = writeln!(page, "\n## {heading}\n\n{about}\n");
        page.push_str("| key | value | default | range | meaning |\n| --- | --- | --- | --- | --- |\n");
        for key in rows {
            page.push_str(&row(key));
        }
    }
    page.push_str(FREE_TABLES);
    page
}

/// What there is to say about a key, in words.
struct Said {
    /// What may be written.
    write: String,
    /// What holds if it is left out.
    fallback: String,
    /// The allowed range; empty: none.
    range: String,
    /// What it means, and when it has an effect.
    meaning: String,
}

fn said(key: &Key) -> Said {
    let (write, range) = match &key.kind {
        Kind::Quantity(dimension, lo, hi) => (wanted(*dimension, ""), between(*dimension, *lo, *hi)),
        Kind::Exact(dimension, lo, hi) => (wanted(*dimension, ", exact"), between(*dimension, *lo, *hi)),
        Kind::Named(words, dimension, lo, hi) => {
            let words: Vec<String> = words.iter().map(|(w, _)| format!("`\"{w}\"`")).collect();
            let write = format!("{}, or {}", wanted(*dimension, ""), words.join(" or "));
            (write, between(*dimension, *lo, *hi))
        }
        Kind::Count(lo, hi) => ("a whole number".into(), format!("{lo} to {hi}")),
        Kind::Words(words) => {
            let words: Vec<String> = words.iter().map(|w| format!("`\"{}\"`", w.word)).collect();
            (words.join(" or "), String::new())
        }
        Kind::Text => ("text".into(), String::new()),
        Kind::Flag => ("`true` or `false`".into(), String::new()),
        Kind::Form(form) => (format!("`{form}`"), String::new()),
    };
    let fallback = match key.default {
        Fallback::Required => "**required**".into(),
        Fallback::Text(text) => format!("`{text}`"),
        Fallback::Rule(rule) => rule.to_owned(),
        Fallback::Numbers(rule) => rule(),
    };
    let only = match key.only {
        Only::Always => String::new(),
        Only::WithBattery => " (only with a battery)".to_owned(),
        Only::Beside(others) => {
            let names: Vec<String> = others.iter().map(|k| format!("`{}`", local(k))).collect();
            format!(" (only with {})", names.join(" or "))
        }
        Only::Words(other, words) => {
            format!(" (only with {} {})", local(other), words.join(" or "))
        }
    };
    Said { write, fallback, range, meaning: format!("{}{only}", key.meaning) }
}

/// The name of a key without its table.
fn local(path: &'static str) -> &'static str {
    path.rsplit_once('.').map_or(path, |(_, name)| name)
}

fn row(key: &Key) -> String {
    let name = local(key.path);
    let Said { write, fallback, range, meaning } = said(key);
    format!("| `{name}` | {write} | {fallback} | {range} | {meaning} |\n")
}

/// What can be written in a design, for a terminal: of one key (`battery.capacity`), of all keys of a table (`battery`),
/// or the names of all keys (an empty topic).
///
/// # Errors
/// The names most like a topic that is neither a table nor a key.
pub fn explain(topic: &str) -> Result<String, Vec<String>> {
    let topic = topic.trim_matches(['[', ']']);
    let mut out = String::new();
    if topic.is_empty() {
        for (table, rows, about) in TABLES {
            let names: Vec<&str> = rows.iter().map(|key| key.path).collect();
            let heading = if table.is_empty() { "top of the file".to_owned() } else { format!("[{table}]") };
            let _ = writeln!(out, "{heading}: {about}\n  {}", names.join("\n  "));
        }
        return Ok(out);
    }
    let of_table = |path: &str| path.split_once('.').is_some_and(|(table, _)| table == topic);
    let all = TABLES.iter().flat_map(|(_, rows, _)| rows.iter());
    let found: Vec<&Key> = all.clone().filter(|key| key.path == topic || of_table(key.path)).collect();
    if found.is_empty() {
        let names: Vec<&str> =
            all.map(|key| key.path).chain(TABLES.iter().map(|(table, ..)| *table)).collect();
        return Err(near(topic, &names));
    }
    for key in found {
        let Said { write, fallback, range, meaning } = said(key);
        let _ =
            writeln!(out, "{}\n  meaning  {meaning}\n  value    {write}\n  default  {fallback}", key.path);
        if !range.is_empty() {
            let _ = writeln!(out, "  range    {range}");
        }
    }
    Ok(out.replace(['`', '*'], ""))
}

/// Names that somebody who wrote `topic` may have meant: those that hold it, then the most similar one.
fn near(topic: &str, names: &[&str]) -> Vec<String> {
    let mut found: Vec<String> =
        names.iter().filter(|name| name.contains(topic)).map(|name| (*name).to_owned()).collect();
    if let Some(similar) = super::values::nearest(topic, names.iter().copied()).filter(|_| found.is_empty()) {
        found.push(similar.to_owned());
    }
    found
}

fn wanted(dimension: Dimension, exact: &str) -> String {
    format!("{}, like `{}`{exact}", dimension.name(), dimension.example())
}

fn between(dimension: Dimension, lo: f64, hi: f64) -> String {
    let shown = |v: f64| show(v, dimension, 4, System::Si);
    format!("{} to {}", shown(lo), shown(hi))
}

const INTRODUCTION: &str = "\
# Designs, and all their keys

A design is a TOML file that describes one build at one place. The files beside this page are invented examples.
`stilldays new my-design.toml` writes a commented design to start from; `stilldays check my-design.toml`
reports all its problems at once. Ten lines are enough:

```toml
[site]
weather = \"my-town.epw\"
[panel]
rated_power = \"10 W\"
open_circuit_voltage = \"10.8 V\"
[battery]
chemistry = \"lithium iron phosphate\"
voltage = \"6.4 V\"
capacity = \"3 Ah\"
[pump]
bench = [[\"6 V\", \"290 mA\", \"430 mm\"]]
```

## Quantities

Every physical value is a text with its unit and, if it is not known exactly, its uncertainty. Each trial draws a
value from this uncertainty, and the results say how much of their spread comes from it.

| text | meaning |
| --- | --- |
| `\"10 W\"` | exactly 10 W |
| `\"10 W ± 5 %\"`, `\"10 ± 0.5 W\"`, `\"10 W +/- 0.5 W\"` | normal distribution; the value after ± is twice the standard deviation (expanded uncertainty, k = 2, JCGM 100:2008); cut at three standard deviations. After a share, % means percentage points: `\"90 % ± 4 %\"` is 86 to 94 % |
| `\"8 to 12 W\"` | any value in this range, all equally likely (uniform distribution) |
| `\"8 to 12 W, likely 10 W\"` | values in this range, 10 W the most likely (triangular distribution) |

Units: W, mW, kW; Wh; V, mV; A, mA; Ah, mAh; ohm, mohm (or Ω); m, cm, mm, in, ft; m2, cm2, mm2, ft2, in2;
L, mL, m3, gal (US); L/min, L/h, gal/min, gal/h; m/s, km/h, mph; deg (or °), deg/s, deg/min, rpm; s, min,
h, d, months, years; %; W/m2; W/(m2 K). `²` and `³` are understood. Shares are written in %. A few values, such as
prices, are plain numbers without a unit: TOML numbers or, with an uncertainty, text. The whole uncertainty range must
lie in the allowed range. Defaults may be uncertain, too: such a range covers common practice; replace it if you
know better.

Azimuths are counted clockwise from north: 90 east, 180 south, 270 west. Where a default is given *by chemistry*, the
order is lithium ion, lithium iron phosphate, lead-acid, nickel-metal hydride.
";

const FREE_TABLES: &str = "
## `[prices]`

Any names, each with a plain number, 0 or more, in your own currency: `panel = 18`. Their sum is the
price of the build.

| key | value | default | meaning |
| --- | --- | --- | --- |
| `currency` | text, 1 to 6 letters or currency signs, such as `\"EUR\"` or `\"$\"` | none: numbers stand alone | currency of all prices of the design, its remedies, its care and the shelf; shown with every amount of money |

## `[[remedy]]`

Named changes whose effects are to be compared; there may be many. Each has

| key | value | default | meaning |
| --- | --- | --- | --- |
| `name` | text | **required** | name of the change |
| `price` | a plain number | not known | what it costs |
| `remove` | a key or table, or a list of them | nothing | what is removed from the design, such as `\"battery\"` or `\"site.skyline\"` |

and any keys of this page with the name of their table, such as `battery.capacity = \"6 Ah ± 10 %\"`. Each
changed design is checked like any other.

## Shelves of parts

`stilldays choose` reads a shelf: a TOML file with `title`, `invented = true` if parts and prices are made up, and any number of
`[[shelf.panel]]`, `[[shelf.battery]]`, `[[shelf.pump]]` and `[[shelf.mount]]`. Each part has a `name`, a `price` and the keys of the table
that it replaces; a battery may have `electronics.` keys of its charger, or `left_out = true` for no battery. A part replaces the
design's own part and its price in `[prices]`; a battery also replaces the price of `charger`. Soiling, tilt and azimuth, and the
keys on the temperature of the battery stay as in the design.
";
