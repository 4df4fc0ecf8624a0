//! Rules of accessibility as axe-core checks them. Its code is no part of the project: the tests take it from where `.ci/run` puts it, or
//! from `STILLDAYS_AXE`. Without it they print so and pass, unless `STILLDAYS_REQUIRE_AXE=1` makes that an error.

use super::driver::Browser;
use serde_json::json;
use std::path::PathBuf;
use std::sync::OnceLock;

/// Rules whose answer depends on colours alone.
const OF_COLOUR: &str = "{ runOnly: ['color-contrast', 'link-in-text-block'] }";

/// The code of axe-core, if it is there.
pub fn code() -> Option<&'static str> {
    static CODE: OnceLock<Option<String>> = OnceLock::new();
    let found = CODE.get_or_init(|| {
        let usual =
            || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/axe/node_modules/axe-core/axe.min.js");
        let path = std::env::var_os("STILLDAYS_AXE").map_or_else(usual, PathBuf::from);
        let code = std::fs::read_to_string(&path).ok();
        if code.is_none() {
            let required = std::env::var("STILLDAYS_REQUIRE_AXE").is_ok_and(|v| v == "1");
            assert!(!required, "no axe-core at {}, and STILLDAYS_REQUIRE_AXE=1", path.display());
            eprintln!("SKIPPED: no axe-core found; its rules of accessibility were not checked");
        }
        code
    });
    found.as_deref()
}

/// Media features in which colours are looked at: a name for messages, and what they are.
const LOOKS: [(&str, &str, &str); 3] = [
    ("dark", "dark", "none"),
    ("forced colours, light", "light", "active"),
    ("forced colours, dark", "dark", "active"),
];

/// What axe-core finds on the page in the light, by all its rules.
pub fn all_rules(b: &mut Browser) -> Vec<String> {
    violations(b, &[("light", "light", "none")], "{}")
}

/// What its rules of colour find in the dark and in forced colours.
pub fn colours(b: &mut Browser) -> Vec<String> {
    violations(b, &LOOKS, OF_COLOUR)
}

/// What some rules find on the page as it stands, every fold open.
fn violations(b: &mut Browser, looks: &[(&str, &str, &str)], rules: &str) -> Vec<String> {
    let Some(code) = code() else { return Vec::new() };
    b.eval("document.querySelectorAll('details').forEach(d => { d.dataset.was = d.open; d.open = true; })");
    b.eval(&format!("{code}; 0"));
    let mut faults = Vec::new();
    for (look, scheme, forced) in looks {
        let features = json!([
            { "name": "prefers-color-scheme", "value": scheme },
            { "name": "forced-colors", "value": forced },
        ]);
        b.send("Emulation.setEmulatedMedia", json!({ "features": features }));
        let found = b.eval(&format!(
            "axe.run(document, Object.assign({{ resultTypes: ['violations'] }}, {rules})).then(r => r.violations.map(v =>
               'axe ' + v.id + ' ({look}): ' + v.help + ': ' + v.nodes[0].html.slice(0, 120)))"
        ));
        faults.extend(found.as_array().unwrap().iter().map(|f| f.as_str().unwrap().to_owned()));
    }
    b.send("Emulation.setEmulatedMedia", json!({ "features": [] }));
    b.eval("document.querySelectorAll('details').forEach(d => { d.open = d.dataset.was === 'true'; })");
    faults
}
