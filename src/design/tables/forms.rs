//! What lists of values share.

use crate::design::reader::DesignReader;
use crate::design::values::Value;

/// The items of a list of a fixed length; `example` shows how it is written.
pub(super) fn items<'a>(
    r: &mut DesignReader<'a>,
    path: &str,
    value: Value<'a>,
    n: usize,
    example: &str,
) -> Option<Vec<Value<'a>>> {
    match value.get_ref().as_array() {
        Some(list) if list.len() == n => Some(list.iter().collect()),
        _ => {
            let title = format!("a list of {n} values is expected in `{path}`");
            r.error(value.span(), title, "", &format!("write, for example, {example}"));
            None
        }
    }
}

/// The items of a list of any length up to `most`; `what` names them.
pub(super) fn list<'a>(
    r: &mut DesignReader<'a>,
    path: &str,
    value: Value<'a>,
    most: usize,
    what: &str,
) -> Option<Vec<Value<'a>>> {
    let Some(list) = value.get_ref().as_array() else {
        r.wrong_form(path, value);
        return None;
    };
    if list.len() > most {
        r.error(value.span(), format!("more than {most} {what}"), "", "");
        return None;
    }
    Some(list.iter().collect())
}
