//! Results against measured records that the project may not pass on.
//!
//! `STILLDAYS_RECORDS` names the folder that holds them. `cargo test` shows these tests as ignored; `.ci/run` looks for the folder
//! beside the repository and runs them, or says at its end that they were left out. By hand:
//!
//! ```sh
//! STILLDAYS_RECORDS=FOLDER cargo test --test it records:: -- --ignored
//! ```

mod climates;
mod minutes;

use flate2::read::GzDecoder;
use std::fs::File;
use std::io::Read;
use std::path::PathBuf;

/// The text of a gzipped record, by its path in the folder.
fn record(name: &str) -> String {
    let folder =
        std::env::var_os("STILLDAYS_RECORDS").expect("STILLDAYS_RECORDS names the folder of records");
    let path = PathBuf::from(folder).join(name);
    let mut text = String::new();
    let file = File::open(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    GzDecoder::new(file).read_to_string(&mut text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    text
}
