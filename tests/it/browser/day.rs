//! The page of days: what it draws is what the CSV of minutes says, and nothing moves unasked.

use super::{Browser, SOUND, browser, page, stands};
use serde_json::{Value, json};
use std::collections::HashMap;
use stilldays::report;

/// The rows of a day's CSV by minute, each by the names of its columns.
fn rows(day: usize) -> HashMap<u16, HashMap<String, String>> {
    let origin = report::csv::Origin {
        version: "0",
        seed: 7,
        trials: "trial 41",
        design_sha256: "",
        weather_sha256: "",
        invented: true,
    };
    let bytes = report::csv::day(&page::picked()[day].trace, &origin);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(&bytes[..]);
    let head = reader.headers().unwrap().clone();
    let row = |r: csv::StringRecord| {
        head.iter().map(str::to_owned).zip(r.iter().map(str::to_owned)).collect::<HashMap<_, _>>()
    };
    reader.records().map(|r| row(r.unwrap())).map(|r| (r["minute_of_day"].parse().unwrap(), r)).collect()
}

fn open(b: &mut Browser, width: i64) {
    b.open(&format!("file://{}", page::written().join("days.html").display()), width);
}

/// Moves the clock to a minute of the day that is shown.
fn go(b: &mut Browser, minute: u16) {
    b.eval(&format!("(() => {{ const t = document.getElementById('time'); t.value = {minute}; t.dispatchEvent(new Event('input')); }})()"));
}

fn choose(b: &mut Browser, day: usize) {
    b.eval(&format!("document.querySelectorAll('.picker input')[{day}].click()"));
}

/// What is drawn, read back from the picture's shapes, and the readings of the tracks.
const DRAWN: &str = r"(() => {
  const at = JSON.parse(document.getElementById('data').textContent).places, e = id => document.getElementById(id);
  const n = (id, a) => +e(id).getAttribute(a), [x, y] = at.nozzle, [cx, cy, cw, ch] = at.charge, water = at.water;
  const jet = e('jet').getAttribute('d'), tip = e('pennant').getAttribute('d').match(/L([\d.]+) ([\d.]+)L/);
  const day = document.querySelector('.day:not([hidden]) .tracks');
  const now = {}; for (const r of day.querySelectorAll('.now')) now[r.dataset.of] = r.textContent;
  const corners = e('panel').getAttribute('points').split(' ').map(Number);
  return {
    sun: +e('sun').style.opacity > 0,
    azimuth: (n('sun', 'cx') - at.middle) / at.per_deg + at.facing, elevation: (at.horizon - n('sun', 'cy')) / at.up,
    jet_m: jet ? (y - +jet.match(/V([\d.]+)/)[1]) / at.jet_per_m : 0,
    charge: n('charge', 'height') / ch, foot: n('charge', 'y') + n('charge', 'height') - cy - ch,
    water: (water[3] - n('water', 'y')) / (water[3] - water[2]),
    lift: Math.atan2(+tip[1] - at.pole[0], +tip[2] - at.pole[1] - 8) * 180 / Math.PI,
    // The upper edge of the panel is level, so its length is how far the panel turns to the viewer.
    across: Math.hypot(corners[2] - corners[0], corners[3] - corners[1]) / (2 * at.panel[2]),
    cursor: parseFloat(day.querySelector('.cursor').style.left), clock: e('clock').textContent, now,
    domes: (s => [+s.getAttribute('cx') - 130, 130 - s.getAttribute('cy')])(document.querySelector('.day:not([hidden]) .at-sun')),
  };
})()";

fn near(what: &str, drawn: &Value, said: f64, error: f64) {
    let drawn = drawn.as_f64().unwrap_or_else(|| panic!("{what}: {drawn}"));
    assert!((drawn - said).abs() <= error, "{what}: drawn {drawn}, the CSV says {said}");
}

fn holds(drawn: &Value, row: &HashMap<String, String>) {
    let said =
        |column: &str| row[column].parse::<f64>().unwrap_or_else(|_| panic!("{column}: {:?}", row[column]));
    assert_eq!(drawn["clock"], row["clock"].as_str());
    assert_eq!(drawn["sun"], !row["sun_elevation_deg"].is_empty());
    if !row["sun_elevation_deg"].is_empty() {
        let (azimuth, elevation) = (said("sun_azimuth_deg"), said("sun_elevation_deg"));
        near("azimuth", &drawn["azimuth"], azimuth, 0.2);
        near("elevation", &drawn["elevation"], elevation, 0.1);
        let r = 106.0 * (90.0 - elevation) / 90.0;
        near("east on the dome", &drawn["domes"][0], r * libm::sin(azimuth.to_radians()), 0.3);
        near("north on the dome", &drawn["domes"][1], r * libm::cos(azimuth.to_radians()), 0.3);
    }
    let jet = if said("duty") > 0.0 { said("jet_m") } else { 0.0 };
    near("jet", &drawn["jet_m"], jet, 2e-3);
    near("charge", &drawn["charge"], said("state_of_charge"), 2e-3);
    near("foot of the charge", &drawn["foot"], 0.0, 0.02);
    near("water", &drawn["water"], (said("water_l") / 40.0).clamp(0.0, 1.0), 5e-3);
    near("lift of the pennant", &drawn["lift"], 85.0 * (said("wind_m_s") / 11.0).clamp(0.0, 1.0), 0.7);
    // A level edge that runs along the viewer's direction is seen from 16° above.
    let turn = (said("aim_azimuth_deg") - 180.0).to_radians();
    let edge = libm::hypot(libm::cos(turn), libm::sin(turn) * libm::sin(16_f64.to_radians()));
    near("edge of the panel", &drawn["across"], edge, 5e-3);
    let now = |column: &str| drawn["now"][column].as_str().unwrap().replace('\u{2212}', "-");
    for (column, said, error) in [
        ("plane_w_m2", said("plane_w_m2"), 1.01),
        ("dni_w_m2", said("dni_w_m2"), 1.01),
        ("dhi_w_m2", said("dhi_w_m2"), 1.01),
        ("aim_elevation", 90.0 - said("aim_tilt_deg"), 0.6),
        ("panel_v", said("panel_v"), 0.06),
        ("battery_v", said("battery_v"), 0.06),
        ("pump_v", said("pump_v"), 0.06),
        ("state_of_charge", 100.0 * said("state_of_charge"), 0.6),
        ("jet_mean", 1000.0 * said("jet_m") * said("duty"), 1.01),
        ("water_l", said("water_l"), 0.06),
        ("wind_m_s", said("wind_m_s"), 0.1),
    ] {
        near(column, &json!(now(column).parse::<f64>().unwrap()), said, error);
    }
    let state = now("state");
    let words = match (&row["wanted"][..], &row["jet_counts"][..], row["cause"].replace('_', " ")) {
        ("1", "0", cause) => format!("now: {cause}"),
        ("1", ..) => "now: jet".to_owned(),
        (_, "1", _) => "now: jet, not wanted".to_owned(),
        _ => "now: nothing wanted".to_owned(),
    };
    assert_eq!(state, words);
}

#[test]
fn what_is_drawn_is_what_the_csv_says() {
    let Some(mut b) = browser() else { return };
    open(&mut b, 1280);
    let mut states = Vec::new();
    for day in 0..3 {
        choose(&mut b, day);
        let rows = rows(day);
        for minute in [200, 421, 700, 901, 1180] {
            go(&mut b, minute);
            let drawn = b.eval(DRAWN);
            holds(&drawn, &rows[&minute]);
            states.push(drawn["now"]["state"].as_str().unwrap().to_owned());
        }
    }
    states.sort_unstable();
    states.dedup();
    assert!(states.len() >= 3, "the moments are all alike: {states:?}");
    // The check can fail: a moment is not another one.
    go(&mut b, 300);
    let drawn = b.eval(DRAWN);
    let other = rows(2)[&700].clone();
    assert!(std::panic::catch_unwind(|| holds(&drawn, &other)).is_err());
    assert_eq!(b.troubles, SOUND);
}

#[test]
fn nothing_moves_unasked_and_play_pause_drag_and_keys_do() {
    let Some(mut b) = browser() else { return };
    open(&mut b, 1280);
    let clock = "document.getElementById('clock').textContent";
    let wait = |b: &mut Browser| {
        b.send(
            "Runtime.evaluate",
            json!({ "expression": "new Promise(done => setTimeout(done, 350))", "awaitPromise": true }),
        )
    };
    let before = b.eval(clock);
    wait(&mut b);
    assert_eq!(b.eval(clock), before, "it moves unasked");
    b.eval("document.getElementById('play').click()");
    assert_eq!(b.eval("document.getElementById('play').textContent"), "Pause");
    wait(&mut b);
    b.eval("document.getElementById('play').click()");
    let after = b.eval(clock);
    assert_ne!(after, before, "it does not play");
    wait(&mut b);
    assert_eq!(b.eval(clock), after, "it does not pause");
    go(&mut b, 600);
    b.eval("document.getElementById('time').focus()");
    b.key("ArrowRight");
    assert_eq!(b.eval("+document.getElementById('time').value"), 601);
    assert_eq!(b.eval(clock), "12:01");
    // A press in the middle of a track.
    let at = b.eval("(() => { const p = document.querySelector('.day:not([hidden]) .plot'); p.scrollIntoView({ block: 'center' }); const r = p.getBoundingClientRect(); return [r.x + r.width / 4, r.y + r.height / 2]; })()");
    for kind in ["mousePressed", "mouseReleased"] {
        b.send(
            "Input.dispatchMouseEvent",
            json!({ "type": kind, "x": at[0], "y": at[1], "button": "left", "clickCount": 1 }),
        );
    }
    let cursor = b
        .eval("parseFloat(document.querySelector('.day:not([hidden]) .cursor').style.left)")
        .as_f64()
        .unwrap();
    assert!((cursor - 25.0).abs() < 0.5, "{cursor} %");
    // Whoever asked for less motion has no button that moves things.
    b.send(
        "Emulation.setEmulatedMedia",
        json!({ "features": [{ "name": "prefers-reduced-motion", "value": "reduce" }] }),
    );
    open(&mut b, 1280);
    assert_eq!(b.eval("document.getElementById('play').checkVisibility()"), false);
    assert_eq!(b.eval("document.getElementById('still-note').checkVisibility()"), true);
    assert_eq!(b.troubles, SOUND);
}

#[test]
fn pages_of_days_hold_and_link_to_a_day() {
    let Some(mut b) = browser() else { return };
    for name in ["days.html", "hostile_days.html"] {
        stands(&mut b, &page::written().join(name));
    }
    b.open(&format!("file://{}#bright", page::written().join("days.html").display()), 1280);
    assert_eq!(b.eval("document.querySelector('.picker input:checked').value"), "2");
    assert_eq!(b.eval("document.querySelectorAll('.day.finding:not([hidden])').length"), 1);
    assert_eq!(b.troubles, SOUND);
}
