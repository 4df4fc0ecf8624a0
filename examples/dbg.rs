use stilldays::{design, lanes::*, plant::*, study::*, weather::BlockDay};
fn main() {
    let path = std::env::args().nth(1).unwrap();
    let sites = Sites::new();
    let plan = Plan::new(design::read(std::path::Path::new(&path)).unwrap(), &sites).unwrap();
    let d: Vec<_> = (0..16).map(|l| parts::draw(&plan.file.design, 1, l).0).collect();
    let units = Units::new(&d);
    let mut state = State::start(&units, &plan.scene);
    let mut w = BlockDay::default();
    let mut out = DayBlock::new();
    let ch: Vec<Vec<u32>> =
        (0..16).map(|l| plan.site.sampler.chain(1, l, plan::CHAIN_START, plan.chain_days())).collect();
    let mut n = 0;
    for i in 0..plan.scene.days.len() {
        let k = plan.chain_offset() + i;
        let don = std::array::from_fn(|l| ch[l][k]);
        plan.site.sampler.fill(Isa::detect(), 1, 0, k, plan.scene.days[i].day_of_year, don, &mut w);
        let before = state.clone();
        step_day(Isa::detect(), &plan.scene, i, &units, &w, &mut state, &mut out);
        for l in 0..16 {
            if out.residual_wh.0[l].abs() > 1e-6 && n < 3 {
                n += 1;
                println!("day {i} lane {l} res {:e} panel {:e}", out.residual_wh.0[l], out.flow_wh[0].0[l]);
                let t = trace_day(&plan.scene, i, &units, l, &w, &mut before.clone());
                for m in &t.minutes {
                    if m.panel_a.abs() > 100.0 || m.panel_v.abs() > 100.0 || m.panel_v.is_nan() {
                        println!("{m:?}");
                    }
                }
            }
        }
    }
}
