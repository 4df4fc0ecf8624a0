//! Results against measured records that the project may not pass on.
//!
//! `STILLDAYS_RECORDS` names the folder that holds them. `cargo test` shows these tests as ignored; `.ci/run` looks for the folder
//! beside the repository and runs them, or says at its end that they were left out. By hand:
//!
//! ```sh
//! STILLDAYS_RECORDS=FOLDER cargo test --test it records:: -- --ignored
//! ```

mod band;
mod climates;
mod minutes;

use std::path::PathBuf;

/// A folder of records.
fn folder_of(name: &str) -> PathBuf {
    let folder =
        std::env::var_os("STILLDAYS_RECORDS").expect("STILLDAYS_RECORDS names the folder of records");
    PathBuf::from(folder).join(name)
}
