//! Contour lines of a lattice of values: marching squares with linear interpolation. Written here because it is short
//! and must leave out squares with an unknown corner.

use std::collections::BTreeMap;

/// An edge of the lattice: from place (x, y) to the right (`false`) or upward (`true`).
type Edge = (usize, usize, bool);

/// Lines on which `values[y][x]` equals `level`: each a list of points (x, y) in lattice steps. Squares with an unknown
/// corner are left out. If a square can be cut in two ways, the mean of its corners decides.
pub fn lines(values: &[Vec<Option<f64>>], level: f64) -> Vec<Vec<[f64; 2]>> {
    let mut next: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
    for (y, rows) in values.windows(2).enumerate() {
        for x in 0..rows[0].len().min(rows[1].len()).saturating_sub(1) {
            let corners = [rows[0][x], rows[0][x + 1], rows[1][x + 1], rows[1][x]];
            for (a, b) in cuts(corners, level) {
                // Edges of the square in the order of its corners: below, right, above, left.
                let edges = [(x, y, false), (x + 1, y, true), (x, y + 1, false), (x, y, true)];
                next.entry(edges[a]).or_default().push(edges[b]);
                next.entry(edges[b]).or_default().push(edges[a]);
            }
        }
    }
    let mut found = Vec::new();
    // Open lines first, then closed ones.
    for ends_only in [true, false] {
        while let Some(start) = next.iter().find(|(_, n)| !ends_only || n.len() == 1).map(|(e, _)| *e) {
            let chain = walk(&mut next, start);
            found.push(chain.iter().map(|edge| crossing(values, *edge, level)).collect());
        }
    }
    found
}

/// The pairs of edges that lines join in a square; edge k lies between corner k and the next.
fn cuts(corners: [Option<f64>; 4], level: f64) -> Vec<(usize, usize)> {
    let [Some(a), Some(b), Some(c), Some(d)] = corners else { return Vec::new() };
    let above = [a > level, b > level, c > level, d > level];
    let crossed: Vec<usize> = (0..4).filter(|&k| above[k] != above[(k + 1) % 4]).collect();
    match crossed[..] {
        [p, q] => vec![(p, q)],
        [_, _, _, _] => {
            // Corners 0 and 2 are on one side. If the middle is with them, the line cuts off 1 and 3.
            let middle = (a + b + c + d) / 4.0 > level;
            if middle == above[0] { vec![(0, 1), (2, 3)] } else { vec![(3, 0), (1, 2)] }
        }
        _ => Vec::new(),
    }
}

/// Removes one line from the net of crossings, and gives it.
fn walk(next: &mut BTreeMap<Edge, Vec<Edge>>, start: Edge) -> Vec<Edge> {
    let mut chain = vec![start];
    let mut here = start;
    while let Some(there) = next.get_mut(&here).and_then(Vec::pop) {
        if let Some(back) = next.get_mut(&there)
            && let Some(k) = back.iter().position(|e| *e == here)
        {
            back.remove(k);
        }
        for edge in [here, there] {
            if next.get(&edge).is_some_and(Vec::is_empty) {
                next.remove(&edge);
            }
        }
        chain.push(there);
        here = there;
    }
    next.remove(&start);
    chain
}

/// Where the line crosses an edge.
fn crossing(values: &[Vec<Option<f64>>], (x, y, upward): Edge, level: f64) -> [f64; 2] {
    let (x2, y2) = if upward { (x, y + 1) } else { (x + 1, y) };
    let t = match (values[y][x], values[y2][x2]) {
        (Some(a), Some(b)) if a != b => ((level - a) / (b - a)).clamp(0.0, 1.0),
        _ => 0.5,
    };
    if upward { [x as f64, y as f64 + t] } else { [x as f64 + t, y as f64] }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lattice(nx: usize, ny: usize, f: impl Fn(f64, f64) -> f64) -> Vec<Vec<Option<f64>>> {
        (0..ny).map(|y| (0..nx).map(|x| Some(f(x as f64, y as f64))).collect()).collect()
    }

    #[test]
    fn a_plane_has_straight_lines() {
        let plane = lattice(6, 5, |x, y| x + 2.0 * y);
        let found = lines(&plane, 5.5);
        assert_eq!(found.len(), 1);
        assert!(found[0].iter().all(|[x, y]| (x + 2.0 * y - 5.5).abs() < 1e-12));
        let (first, last) = (found[0][0], found[0][found[0].len() - 1]);
        assert_eq!([first, last].iter().map(|p| p[1]).fold(0.0, f64::max), 2.75, "from edge to edge");
        assert_eq!(lines(&plane, -1.0), Vec::<Vec<[f64; 2]>>::new());
        assert!(lines(&plane, 99.0).is_empty());
    }

    #[test]
    fn a_hill_has_a_closed_line_and_a_hole_opens_it() {
        let mut hill = lattice(7, 7, |x, y| -((x - 3.0) * (x - 3.0) + (y - 3.0) * (y - 3.0)));
        let ring = lines(&hill, -4.0);
        assert_eq!(ring.len(), 1);
        assert_eq!(ring[0].first(), ring[0].last(), "closed");
        // Chords of a circle of radius 2 between lattice lines.
        for [x, y] in &ring[0] {
            let r = ((x - 3.0) * (x - 3.0) + (y - 3.0) * (y - 3.0)).sqrt();
            assert!((r - 2.0).abs() < 0.1, "{r}");
        }
        hill[3][5] = None;
        let open = lines(&hill, -4.0);
        assert_eq!(open.len(), 1);
        assert_ne!(open[0].first(), open[0].last());
    }

    #[test]
    fn a_saddle_is_cut_by_its_middle() {
        let saddle = |low: f64| vec![vec![Some(2.0), Some(low)], vec![Some(low), Some(2.0)]];
        for (low, joined) in [(0.5, true), (-3.0, false)] {
            let found = lines(&saddle(low), 1.0);
            assert_eq!(found.len(), 2);
            // With a high middle the high corners (0, 0) and (1, 1) are joined: (1, 0) is cut off alone.
            let cuts_off = |x: f64, y: f64| {
                found.iter().any(|l| l.iter().all(|p| (p[0] - x).abs() + (p[1] - y).abs() < 1.0))
            };
            assert_eq!(cuts_off(1.0, 0.0), joined, "{low}: {found:?}");
            assert_eq!(cuts_off(0.0, 0.0), !joined, "{low}: {found:?}");
        }
    }

    #[test]
    fn no_lattice_is_too_odd() {
        assert!(lines(&[], 1.0).is_empty());
        assert!(lines(&[vec![Some(1.0)]], 1.0).is_empty());
        assert!(lines(&[vec![None, Some(1.0)], vec![Some(3.0), Some(0.0)]], 1.0).is_empty());
        let flat = lattice(3, 3, |_, _| 1.0);
        assert!(lines(&flat, 1.0).is_empty(), "equal is not above");
    }
}
