//! `[site]`.

use std::path::PathBuf;

use toml::de::{DeTable, DeValue};

use super::skyline::skyline;
use super::trees::trees;
use crate::design::parts::{Site, WeatherYears, YearSpread};
use crate::design::reader::DesignReader;
use crate::design::values::{Value, in_file_order};
use crate::units::{Dimension, Uncertain};

/// Weather files a design may name.
const WEATHER_MAX: usize = 200;

pub(in crate::design) fn site(r: &mut DesignReader<'_>) -> Option<Site<Uncertain>> {
    let weather = weather(r);
    let weather_years = r.word::<WeatherYears>("site.weather_years", None);
    let (skyline, corners) = skyline(r).unzip();
    let trees = corners.and_then(|corners| trees(r, corners));
    let albedo = r.quantity("site.albedo");
    let year_spread = year_spread(r);
    Some(Site {
        weather: weather?,
        skyline: skyline?,
        trees: trees?,
        albedo: albedo?,
        weather_years: weather_years?,
        year_spread: year_spread?,
    })
}

/// `site.weather`: one path or a list of them.
fn weather(r: &mut DesignReader<'_>) -> Option<Vec<PathBuf>> {
    let path = "site.weather";
    let value = r.form(path)?;
    let list: Vec<Value<'_>> = match value.get_ref() {
        DeValue::Array(list) => list.iter().collect(),
        _ => vec![value],
    };
    if list.is_empty() {
        r.error(value.span(), "no weather file is named", "an empty list", "name at least one file");
        return None;
    }
    if list.len() > WEATHER_MAX {
        r.error(value.span(), format!("more than {WEATHER_MAX} weather files"), "", "");
        return None;
    }
    let mut files = Vec::new();
    for item in list {
        match item.get_ref() {
            DeValue::String(file) if file.trim().is_empty() => {
                r.error(item.span(), "no weather file is named", "empty", "");
                return None;
            }
            DeValue::String(file) => files.push(PathBuf::from(file.as_ref())),
            _ => {
                r.wrong_form(path, item);
                return None;
            }
        }
    }
    for (k, file) in files.iter().enumerate() {
        if files[..k].contains(file) {
            let title = format!("weather file {} is named twice", file.display());
            r.error(value.span(), title, "", "name each file once");
            return None;
        }
    }
    Some(files)
}

/// `site.year_spread`.
fn year_spread(r: &mut DesignReader<'_>) -> Option<YearSpread> {
    let path = "site.year_spread";
    let Some(value) = r.form(path) else { return r.default_text(path).and_then(named_year_spread) };
    if let DeValue::Table(table) = value.get_ref() {
        return given_year_spread(r, path, value, table);
    }
    let named = value.get_ref().as_str().and_then(named_year_spread);
    match (named, value.get_ref().as_str()) {
        (None, Some(word)) => {
            let help = "possible: \"by climate\", \"none\", or your own figures: { monthly = \"12 %\", annual = \"4 %\" }";
            r.error(value.span(), format!("`{path}` cannot be \"{word}\""), "unknown word", help);
        }
        (None, None) => r.wrong_form(path, value),
        (Some(_), _) => {}
    }
    named
}

fn named_year_spread(word: &str) -> Option<YearSpread> {
    match word {
        "by climate" => Some(YearSpread::ByClimate),
        "none" => Some(YearSpread::None),
        _ => None,
    }
}

fn given_year_spread<'a>(
    r: &mut DesignReader<'a>,
    path: &str,
    value: Value<'a>,
    table: &'a DeTable<'a>,
) -> Option<YearSpread> {
    for (name, span, _) in in_file_order(table) {
        if !["monthly", "annual"].contains(&name) {
            let title = format!("unknown key `{name}` in `{path}`");
            r.error(span, title, "unknown", "known keys here: monthly, annual");
        }
    }
    let mut share = |name: &str| {
        let Some(value) = table.get(name) else {
            let help = "write, for example, { monthly = \"12 %\", annual = \"4 %\" }";
            r.error(value.span(), format!("`{name}` is missing in `{path}`"), "", help);
            return None;
        };
        r.exact_at(name, value, (Dimension::Share, 0.0, 0.6))
    };
    let (monthly, annual) = (share("monthly"), share("annual"));
    Some(YearSpread::Given { monthly: monthly?, annual: annual? })
}
