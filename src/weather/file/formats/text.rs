//! From the bytes of a file to lines of text, within limits.

use crate::source::Problem;
use flate2::bufread::MultiGzDecoder;
use std::borrow::Cow;
use std::io::{ErrorKind, Read};

/// Most bytes of an unpacked weather file; a year of hours has less than 3 MB.
pub(crate) const TEXT_MAX: usize = 64 << 20;
/// Most bytes of a line; the longest of real files have about 1200.
pub(crate) const LINE_MAX: usize = 64 << 10;

/// The text of a file, with notes on how it was read.
#[derive(Debug)]
pub(crate) struct Text<'b> {
    /// Unpacked, without byte-order mark.
    pub text: Cow<'b, str>,
    /// What the user should know.
    pub notes: Vec<String>,
}

/// Reads a file up to one byte more than a weather file may have.
pub fn read_limited(path: &std::path::Path) -> std::io::Result<Vec<u8>> {
    crate::disk::read::at_most(path, TEXT_MAX as u64 + 1)
}

/// Unpacks, removes the byte-order mark and refuses what is not text.
///
/// # Errors
/// Too large, a line too long, damaged or cut-short gzip, another kind of file.
pub(crate) fn text_of<'b>(path: &str, bytes: &'b [u8]) -> Result<Text<'b>, Problem> {
    let fail = |title: String| Problem::error(title).in_file(path);
    if bytes.is_empty() {
        return Err(fail("the file is empty".into()));
    }
    let mut notes = Vec::new();
    let unpacked: Cow<[u8]> =
        if bytes.starts_with(&[0x1f, 0x8b]) { unpack(path, bytes)?.into() } else { bytes.into() };
    if let Some(line) = first_long_line(&unpacked) {
        return Err(fail(format!(
            "line {line} is longer than {} kB: this is not a weather file",
            LINE_MAX >> 10
        )));
    }
    if unpacked.len() > TEXT_MAX {
        return Err(fail(format!(
            "the file is larger than {} MB; a year of hourly rows has about 2 MB",
            TEXT_MAX >> 20
        )));
    }
    if unpacked.starts_with(b"PK\x03\x04") {
        return Err(fail("this is a zip archive".into()).help("unpack it and give the file inside"));
    }
    if unpacked.starts_with(&[0xff, 0xfe]) || unpacked.starts_with(&[0xfe, 0xff]) {
        return Err(fail("the text is in UTF-16".into()).help("save it as UTF-8"));
    }
    if unpacked.contains(&0) {
        return Err(fail("the file contains NUL bytes: it is not text".into()));
    }
    let mark = unpacked.starts_with(&[0xef, 0xbb, 0xbf]);
    if mark {
        notes.push("the file starts with a byte-order mark, which was ignored".to_owned());
    }
    let body = match unpacked {
        Cow::Borrowed(b) => Cow::Borrowed(if mark { &b[3..] } else { b }),
        Cow::Owned(mut b) => {
            if mark {
                b.drain(..3);
            }
            Cow::Owned(b)
        }
    };
    let text = match body {
        Cow::Borrowed(b) => std::str::from_utf8(b).map(Cow::Borrowed).map_err(|_| b.to_vec()),
        Cow::Owned(b) => String::from_utf8(b).map(Cow::Owned).map_err(|e| e.into_bytes()),
    };
    let text = text.unwrap_or_else(|bytes| {
        let line = bytes.utf8_chunks().next().map_or(1, |c| c.valid().matches('\n').count() + 1);
        notes.push(format!("line {line}: not UTF-8; the file was read as Latin-1, which affects only names"));
        // Latin-1 is the first 256 code points of Unicode.
        bytes.iter().map(|&b| b as char).collect::<String>().into()
    });
    let start = text.trim_start().get(..1);
    if start == Some("<") {
        return Err(fail("this is a web page (HTML or XML), not a weather file".into())
            .help("the download may have stored an error page: open the address in a browser and save the file itself"));
    }
    if start.is_none() && text.trim().is_empty() {
        return Err(fail("the file contains only whitespace".into()));
    }
    Ok(Text { text, notes })
}

fn unpack(path: &str, bytes: &[u8]) -> Result<Vec<u8>, Problem> {
    let mut out = Vec::new();
    let read = MultiGzDecoder::new(bytes).take(TEXT_MAX as u64 + 1).read_to_end(&mut out);
    let fail = |title: String| Err(Problem::error(title).in_file(path));
    match read {
        Ok(_) if out.len() > TEXT_MAX && first_long_line(&out).is_none() => fail(format!(
            "the gzip data unpack to more than {} MB; a year of hourly rows has about 2 MB",
            TEXT_MAX >> 20
        )),
        Ok(_) => Ok(out),
        Err(e) if e.kind() == ErrorKind::UnexpectedEof => fail(format!(
            "the gzip data end early, after {} unpacked bytes: the file was cut short",
            out.len()
        )),
        Err(e) => fail(format!("the gzip data are damaged after {} unpacked bytes ({e})", out.len())),
    }
}

/// Number (1-based) of the first line longer than [`LINE_MAX`].
fn first_long_line(bytes: &[u8]) -> Option<usize> {
    bytes.split(|&b| b == b'\n').position(|line| line.len() > LINE_MAX).map(|k| k + 1)
}
