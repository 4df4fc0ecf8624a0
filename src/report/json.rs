//! Numbers to JSON.

use serde::Serialize;

/// Pretty JSON with a newline at the end. What is not finite is written as null.
///
/// # Panics
/// Never for the types of this library: only a map whose keys are not text could fail.
pub fn bytes<T: Serialize>(value: &T) -> Vec<u8> {
    let mut out = serde_json::to_vec_pretty(value).expect("maps here have text as keys");
    out.push(b'\n');
    out
}

#[cfg(test)]
mod tests {
    #[test]
    fn what_is_not_finite_is_null() {
        let out = super::bytes(&vec![Some(1.5), Some(f64::NAN), Some(f64::INFINITY), None]);
        assert_eq!(String::from_utf8(out).unwrap(), "[\n  1.5,\n  null,\n  null,\n  null\n]\n");
    }
}
