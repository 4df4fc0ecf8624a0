//! Opens files to be read.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;

/// Opens a file, or what a link to one leads to. A named pipe or a device is refused at once: opening or reading it could wait for ever.
///
/// # Errors
/// Of the system, or that it is no file.
pub fn open(path: &Path) -> io::Result<File> {
    let kind = std::fs::metadata(path)?.file_type();
    // Folders are left to the system, which has its own words for them.
    if !kind.is_file() && !kind.is_dir() {
        let why = "it is a named pipe, a socket or a device, not a regular file";
        return Err(io::Error::new(io::ErrorKind::InvalidInput, why));
    }
    File::open(path)
}

/// The first `most` bytes of a file that [`open`] opens.
///
/// # Errors
/// As [`open`], or while reading.
pub fn at_most(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    open(path)?.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_file_is_refused_at_once() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("file");
        std::fs::write(&file, b"0123456789").unwrap();
        assert_eq!(at_most(&file, 4).unwrap(), b"0123");
        assert_eq!(at_most(&dir.path().join("none"), 4).unwrap_err().kind(), io::ErrorKind::NotFound);
        assert!(at_most(dir.path(), 4).is_err(), "a folder");
    }

    #[cfg(unix)]
    #[test]
    fn a_socket_or_a_device_is_refused_and_a_link_followed() {
        let dir = tempfile::tempdir().unwrap();
        let socket = dir.path().join("socket");
        let _listener = std::os::unix::net::UnixListener::bind(&socket).unwrap();
        for path in [&socket, Path::new("/dev/zero")] {
            assert!(at_most(path, 4).unwrap_err().to_string().contains("not a regular file"));
        }
        let (file, link) = (dir.path().join("file"), dir.path().join("link"));
        std::fs::write(&file, b"0123").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        assert_eq!(at_most(&link, 9).unwrap(), b"0123");
    }
}
