//! Light through the trees of a skyline, by the season.

use crate::common::*;
use stilldays::design::*;
use stilldays::plant::DayBlock;

/// A row of trees all round, or what else stands there.
fn behind(corners: bool, in_leaf: f64, bare: f64, season: (u16, u16)) -> Design {
    let mut design = with_battery();
    design.mount.kind = MountKind::Fixed;
    design.site.skyline = vec![(0.0, 30.0), (120.0, 30.0), (240.0, 30.0)];
    design.site.trees = Trees {
        corners: if corners { vec![true; 3] } else { vec![] },
        in_leaf,
        bare,
        leafing: None,
        colouring: None,
    };
    design.wish.season = season;
    design
}

const SUMMER: (u16, u16) = (171, 175);
const WINTER: (u16, u16) = (10, 14);

/// Light on the panel on the second of two days, Wh/m².
fn light(design: &Design, day: Day) -> f64 {
    let mut run = Run::new(design);
    let out: &DayBlock = run.days(2, day);
    out.plane_wh_m2.0[0]
}

#[test]
fn trees_pass_more_light_than_walls_and_less_than_nothing() {
    for day in [Day::Clear, Day::Overcast(0.3), Day::Patchy] {
        for (season, in_leaf) in [(SUMMER, true), (WINTER, false)] {
            let trees = light(&behind(true, 0.15, 0.6, season), day);
            let walls = light(&behind(false, 0.0, 0.0, season), day);
            let mut open = behind(false, 0.0, 0.0, season);
            open.site.skyline.clear();
            let open = light(&open, day);
            assert!(walls < trees && trees < open, "{walls} {trees} {open}");
            // What the walls took, less what passes: about the share in leaf or bare, and some glow beside the disc.
            let passed = (trees - walls) / (open - walls);
            let share = if in_leaf { 0.15 } else { 0.6 };
            assert!((passed - share).abs() < 0.15, "{passed} of {share}");
        }
    }
}

#[test]
fn trees_that_let_all_through_are_not_there() {
    let mut open = behind(false, 0.0, 0.0, SUMMER);
    open.site.skyline.clear();
    for day in [Day::Clear, Day::Patchy] {
        let (through, open) = (light(&behind(true, 1.0, 1.0, SUMMER), day), light(&open, day));
        assert!((through / open - 1.0).abs() < 1e-6, "{through} and {open}");
    }
}

#[test]
fn leaves_come_on_the_day_that_is_given() {
    let mut design = behind(true, 0.1, 0.6, SUMMER);
    let early = light(&design, Day::Overcast(0.3));
    // In leaf only from August on: bare in June.
    design.site.trees.leafing = Some(212);
    let late = light(&design, Day::Overcast(0.3));
    assert!(late > 1.08 * early, "{late} and {early}");
}

#[test]
fn a_fixed_panel_and_one_that_moves_both_see_the_trees() {
    for kind in [MountKind::SunFollowing, MountKind::LightSeeking] {
        let of = |trees: bool| {
            let mut design = behind(trees, 0.2, 0.6, SUMMER);
            design.mount.kind = kind;
            light(&design, Day::Clear)
        };
        assert!(of(true) > 1.02 * of(false), "{kind:?}");
    }
}
