//! What `weather` shows: each file described, and sampled years compared with it.

use crate::study::sampled_years::SampledVsFile;
use crate::weather::file::describe::Description;
use serde::Serialize;

/// Name and version of the JSON of [`Described`].
pub const SCHEMA: &str = "stilldays.weather/1";
/// What some files are, and how years sampled from each compare with it.
#[derive(Debug, Serialize)]
pub struct Described {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// In the order given, without those that were refused.
    pub files: Vec<FileAndSampled>,
    /// Years sampled from all files together, where they are said to be years of one place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pool: Option<PoolAndSampled>,
}

/// The files as years of one place.
#[derive(Debug, Serialize)]
pub struct PoolAndSampled {
    /// How many.
    pub files: usize,
    /// Sampled years against all of them.
    pub sampled: SampledVsFile,
}

/// One file.
#[derive(Debug, Serialize)]
pub struct FileAndSampled {
    /// What it is.
    pub file: Description,
    /// Sampled years against it.
    pub sampled: SampledVsFile,
}
