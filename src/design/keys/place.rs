//! Rows of the title, the place, the wish and the basin.

use super::key::Fallback::{Numbers, Required, Rule, Text as Is};
use super::key::Kind::{Exact, Form, Quantity, Text, Words};
use super::key::{Key, row};
use super::words::WordList;
use crate::design::parts::{TreeKind, WeatherYears};
use crate::design::rules::DUSK_RUN_BY_CLOCK_MIN;
use crate::units::Dimension::*;
use crate::units::significant;

pub(super) const TOP: &[Key] = &[row("title", Text, Rule("the name of the file"), "name of the build")];

/// Where trees matter, and where their leaves do.
const TREES: &[&str] = &["site.skyline"];
const LEAVES: &[&str] = &["site.skyline", "panel.leaves"];

pub(super) const SITE: &[Key] = &[
    row(
        "site.weather",
        Form("\"town.csv\" or [\"2019.csv\", \"2020.csv\"]"),
        Required,
        "weather files, relative to the design file: one typical year, or several measured years, which are pooled",
    ),
    row(
        "site.weather_years",
        Words(WeatherYears::WORDS),
        Is("by file"),
        "what the files are: typical (months chosen from several years for being average), measured (years as they were), or by file: a file is typical if its head says so or its rows come from several years",
    ),
    row(
        "site.skyline",
        Form("[[\"90 deg\", \"8 deg\"], ...]"),
        Rule("open to the horizon"),
        "obstacles between panel and horizon: corners as azimuth (clockwise from north) and height, in order of increasing azimuth; straight lines between them. A corner \
         with \"trees\" as its third value is the edge of trees: light passes through what stands between two such corners",
    ),
    row(
        "site.trees",
        Words(TreeKind::WORDS),
        Is("mixed"),
        "kind of the skyline's trees: dense (lime, maple, chestnut), light (ash, locust, birch), conifer, or mixed",
    )
    .beside(TREES),
    row(
        "site.light_in_leaf",
        Exact(Share, 0.0, 1.0),
        Numbers(|| {
            let shares = TreeKind::ALL.iter().map(|k| significant(100.0 * k.usual().0, 3));
            format!("{} % by kind of tree", shares.collect::<Vec<_>>().join(", "))
        }),
        "share of the light that passes through the trees in leaf",
    )
    .beside(TREES),
    row(
        "site.light_bare",
        Exact(Share, 0.0, 1.0),
        Numbers(|| {
            let shares = TreeKind::ALL.iter().map(|k| significant(100.0 * k.usual().1, 3));
            format!("{} % by kind of tree", shares.collect::<Vec<_>>().join(", "))
        }),
        "share of the light that passes through bare branches",
    )
    .beside(TREES),
    row(
        "site.leafing",
        Form("\"04-20\""),
        Rule("by latitude and height: 04-20 at 45 deg north, 04-10 at 40, 05-18 at 60"),
        "day on which the trees begin to come into leaf, month-day; 20 days later they are green",
    )
    .beside(LEAVES),
    row(
        "site.colouring",
        Form("\"10-18\""),
        Rule("by latitude and height: 10-18 at 45 deg north, 10-25 at 40, 09-25 at 60"),
        "day on which leaves begin to colour and fall, month-day; 35 days later the trees are bare",
    )
    .beside(LEAVES),
    row(
        "site.albedo",
        Quantity(Share, 0.0, 1.0),
        Is("15 to 25 %"),
        "share of light that the ground reflects",
    ),
    row(
        "site.year_spread",
        Form("\"by climate\", \"none\" or { monthly = \"12 %\", annual = \"4 %\" }"),
        Is("by climate"),
        "how much monthly and annual sums differ between years (standard deviation over mean): by climate, from what the weather files show of it; none, only what the days of the files bring; or given",
    ),
];

pub(super) const LEARNED: &[Key] = &[row(
    "learned.units",
    Text,
    Rule("none: each quantity is drawn by itself"),
    "file of units learned from a logbook (`stilldays learn`), relative to the design file: every command draws its units from it; a quantity that is given otherwise than when it was learned is drawn as the design says",
)];

pub(super) const WISH: &[Key] = &[
    row(
        "wish.season",
        Form("\"04-01 to 10-31\""),
        Is("01-01 to 12-31"),
        "first and last day, month-day; may include the new year",
    ),
    row(
        "wish.hours",
        Form("\"sunrise + 30 min to sunset + 2 h\", \"08:00 to 22:00\""),
        Is("sunrise + 30 min to sunset"),
        "when the jet is wanted; clock times are local standard time",
    ),
    row("wish.jet", Quantity(Length, 0.005, 20.0), Is("5 cm"), "height the jet must reach to count"),
    row(
        "wish.still_below",
        Exact(Duration, 0.0, 1440.0),
        Is("30 min"),
        "a day with fewer jet minutes is a still day",
    ),
    row(
        "wish.enough",
        Exact(Share, 0.0, 1.0),
        Is("50 %"),
        "a day with jet for less than this share of its wanted minutes is a short day",
    ),
    row(
        "wish.dusk_run",
        Exact(Duration, 0.0, 720.0),
        Numbers(|| format!("until `hours` end; {DUSK_RUN_BY_CLOCK_MIN} min if they end at a clock time")),
        "how long the jet should run after sunset; part of the wish only where a design gives it",
    ),
    row(
        "wish.evenings",
        Exact(Share, 0.01, 1.0),
        Is("90 %"),
        "share of the season's evenings on which the jet should run for that long",
    ),
    row(
        "wish.pulse_counts_from",
        Exact(Share, 0.0, 1.0),
        Is("50 %"),
        "a minute in which the pump pulses counts if the pump runs for at least this share of it",
    ),
    row("wish.still_days", Exact(Number, 0.0, 31.0), Is("2"), "acceptable still days a month"),
    row(
        "wish.confidence",
        Exact(Share, 0.01, 0.999),
        Is("90 %"),
        "share of years in which the whole wish must be met: still days, dusk run, water",
    ),
];

pub(super) const WATER: &[Key] = &[
    row("water.area", Quantity(Area, 0.001, 10_000.0), Is("0.5 m2"), "open water surface"),
    row(
        "water.usable",
        Quantity(Volume, 0.05, 1e6),
        Is("20 L"),
        "volume above the low-water mark when the basin is full",
    ),
    row(
        "water.rim",
        Quantity(Length, 0.01, 50.0),
        Rule("radius of a round basin of that area"),
        "distance from the jet to the rim; drops that drift farther are lost",
    ),
    row(
        "water.wind_share",
        Quantity(Share, 0.0, 1.0),
        // Over open grass the wind at 30 cm is 42 % of that at 10 m (FAO-56 eq. 47); walls and
        // hedges halve it again (common practice, no source).
        Is("10 to 50 %, likely 25 %"),
        "wind at the basin over the wind at 10 m in the weather file, both for the drops it carries away and for evaporation",
    ),
    row(
        "water.wind_turbulence",
        Quantity(Share, 0.0, 0.6),
        // Near the ground, among walls and hedges (common practice, no source).
        Is("20 to 40 %"),
        "gusts: standard deviation of the wind at the jet over its mean of an hour",
    ),
    row(
        "water.drop",
        Quantity(SmallLength, 0.2, 8.0),
        Is("1 to 4 mm, likely 2 mm"),
        "diameter of the drops: half of the water is in smaller ones",
    ),
    row(
        "water.evaporation_factor",
        Quantity(Number, 0.2, 3.0),
        Is("1.2 to 1.5"),
        "evaporation of a small basin in the open over Penman's open-water evaporation",
    ),
    row(
        "water.spray_evaporation",
        Quantity(Share, 0.0, 2.0),
        Is("20 to 50 %"),
        "extra evaporation while the jet runs",
    ),
    row(
        "water.top_up",
        Form("\"always\", \"every 7 days\" or \"rain\""),
        Is("always"),
        "how the basin is refilled: by a float valve or spring, by hand every so many days, or by rain alone",
    ),
    row(
        "water.wind_cut_off",
        Exact(Speed, 0.5, 50.0),
        Rule("none"),
        "wind speed at which the pump is stopped",
    ),
    row(
        "water.depth",
        Quantity(Length, 0.03, 10.0),
        Rule("ice is not looked at"),
        "mean depth of the water; with it the water cools, freezes and thaws by the weather. No jet runs through thick ice (30 mm), none starts \
         under thin ice (5 mm), and below -5 degC nozzle and pipe freeze after 6 hours at rest",
    ),
    row(
        "water.intake",
        Quantity(Length, 0.01, 10.0),
        Rule("half of `depth`"),
        "depth of the pump's intake below the surface: ice that reaches it can destroy the pump",
    )
    .beside(&["water.depth"]),
    row(
        "water.ground",
        Quantity(HeatLoss, 0.0, 20.0),
        // A basin set into the ground (common practice, no source); a bowl in the air has none.
        Is("1 to 3 W/(m2 K)"),
        "heat between water and ground for each m2 of surface; the ground has the mean temperature of the year; 0 for a bowl above the ground",
    )
    .beside(&["water.depth"]),
    row(
        "water.taken_in",
        Form("\"11-01 to 03-31\""),
        Rule("never"),
        "first and last day on which the pump is taken in for the winter: nothing is wanted then",
    ),
];
