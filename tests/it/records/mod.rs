//! Results against measured records that the project may not pass on.

mod minutes;
