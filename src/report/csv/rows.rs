//! Rows of a CSV file, kept in memory.

/// A CSV file under way. Memory refuses no record and no flush: only rows of differing length could fail, and every table
/// here has rows of one length.
pub(in crate::report) struct Rows(csv::Writer<Vec<u8>>);

impl Rows {
    /// Begins with comment lines, each with its `#` and its end; or with none.
    pub fn below(comment: String) -> Rows {
        Rows(csv::Writer::from_writer(comment.into_bytes()))
    }

    /// Adds a row.
    pub fn row(&mut self, fields: impl IntoIterator<Item: AsRef<[u8]>>) {
        self.0.write_record(fields).expect("memory takes every record of one length");
    }

    /// The file's bytes.
    pub fn bytes(self) -> Vec<u8> {
        self.0.into_inner().expect("memory does not refuse to be flushed")
    }
}

/// Yes or no in a cell.
pub(super) fn yes(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}
