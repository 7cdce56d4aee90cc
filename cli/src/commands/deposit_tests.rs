//! The metal of whole jobs against Faraday's law, and how long runs are.

use solver::quantity::Time;
use solver::{Deposit, Role, least_on_parts};

use super::report::{self, Solved};
use crate::bath::Library;
use crate::diagnostic::Source;
use crate::job::{Resolved, resolve};
use crate::leaning::leaning;

/// F, C/mol, written out once more than in the solver.
const FARADAY: f64 = 96_485.332_123;

fn source(bath: &str, run: &str) -> Source {
    let text = format!(
        "unit = \"mm\"\n[tank]\nsize = [300, 200]\ndepth = 150\n[bath]\n{bath}\n\
         [[part]]\nname = \"angle\"\n\
         polygon = [[180,60],[200,60],[200,120],[240,120],[240,140],[180,140]]\ncorner_radius = 2\n\
         [[thief]]\nname = \"wire\"\ndisc = {{ at = [160, 150], radius = 3 }}\n\
         [[anode]]\nname = \"left\"\nrect = {{ at = [20, 100], size = [20, 120] }}\n\
         [solve]\naccuracy = \"5 %\"\n{run}\n"
    );
    Source { name: "made/job.toml".into(), text }
}

fn resolved(source: &Source) -> Resolved {
    resolve(source).unwrap_or_else(|faults| {
        let all: Vec<String> = faults.iter().map(|f| f.render(source, false)).collect();
        panic!("{}", all.join("\n"))
    })
}

fn solved(job: &Resolved) -> Solved {
    let positions = job.positions();
    let layouts: Vec<_> = positions.iter().map(|(layout, _)| layout.clone()).collect();
    let solutions =
        solver::solve_all(&layouts, &job.settings, &|_, _| ()).unwrap_or_else(|e| panic!("{e:?}"));
    let significant = positions[0].0.significant_rows(&solutions[0]);
    Solved { positions, solutions, significant }
}

fn run(source: &Source) -> (Resolved, Solved, Time, Deposit) {
    let job = resolved(source);
    let solved = solved(&job);
    let (time, deposit) =
        report::deposit(&job, &solved).expect("it ends").expect("a metal and a length");
    (job, solved, time, deposit)
}

/// Mass of every cathode is its ampere-hours × its efficiency × the equivalent M / (n F), and its
/// mean thickness that mass over density and area, in every bath of the library.
#[test]
fn mean_thickness_is_ampere_hours_times_efficiency_times_equivalent() {
    for name in Library::default().names() {
        let found = Library::default().find(&name).expect("it is there");
        let window = &found.entry.window.get().expect("a window").value;
        let density = window.default.get().expect("a default").value.written.clone();
        let source = source(
            &format!("use = \"{name}\""),
            &format!("[supply]\ncurrent_density = \"{density}\"\n[run]\nampere_hours = \"2 A h\""),
        );
        let (job, solved, time, deposit) = run(&source);
        let metal = &job.plating.as_ref().expect("a metal").metal;
        let solution = solved.first();
        // two ampere-hours through the supply
        assert!((solution.total_current_a() * time.si() / 7200.0 - 1.0).abs() < 1e-12, "{name}");
        let equivalent = metal.molar_mass_g_mol * 1e-3 / (f64::from(metal.valence) * FARADAY);
        for (k, body) in solution.bodies.iter().enumerate().filter(|(_, b)| b.role != Role::Anode) {
            let on = deposit.of_body(k).unwrap_or_else(|| panic!("{name}: {}", body.name));
            let share = on.efficiency.expect("current flows in");
            let expected = body.current_a * time.si() * share * equivalent;
            assert!((on.mass_kg / expected - 1.0).abs() < 1e-9, "{name}: {}", body.name);
            let mean = expected / (metal.density_g_cm3 * 1e3 * body.area_m2);
            assert!((on.thickness.mean / mean - 1.0).abs() < 1e-9, "{name}: {}", body.name);
        }
        let taken: f64 =
            solution.bodies.iter().filter(|b| b.role != Role::Anode).map(|b| b.current_a).sum();
        assert!((taken / solution.total_current_a() - 1.0).abs() < 1e-9, "{name}");
    }
}

#[test]
fn a_run_until_a_thickness_ends_when_the_thinnest_place_has_it() {
    let supply = "[supply]\ncurrent_density = \"4 A/dm2\"\n[run]\n";
    let bath = "use = \"watts-nickel\"";
    let until = source(bath, &format!("{supply}until = \"12 um\""));
    let (_, mut solved, time, deposit) = run(&until);
    let least = least_on_parts(&deposit, &solved.first().bodies, Some(&solved.significant))
        .expect("a part");
    assert!((least * 1e6 - 12.0).abs() < 1e-9, "{least}");
    let as_long = source(bath, &format!("{supply}time = \"{} s\"", time.si()));
    let (_, _, again, same) = run(&as_long);
    assert_eq!(again, time);
    assert!((same.bodies[0].mass_kg / deposit.bodies[0].mass_kg - 1.0).abs() < 1e-12);
    // where only some stretches count, less time is enough
    let rows = solved.first().bodies[0].stretches.len();
    let near: Vec<bool> =
        (0..rows).map(|k| solved.first().bodies[0].stretches[k].at.x < 0.19).collect();
    let job = resolved(&until);
    solved.significant = vec![near];
    let (short, _) = report::deposit(&job, &solved).expect("it ends").expect("run");
    assert!(short.si() < time.si());
}

/// Chromium does not cover the hollow of an angle at a low density: no time is long enough.
#[test]
fn a_run_until_a_thickness_where_nothing_deposits_never_ends() {
    let source = source(
        "use = \"chromium-decorative\"",
        "[supply]\ncurrent_density = \"4 A/dm2\"\n[run]\nuntil = \"0.3 um\"",
    );
    let job = resolved(&source);
    let mut solved = solved(&job);
    // the ball does not touch the hollow, but here it counts
    solved.significant.clear();
    assert_eq!(report::deposit(&job, &solved), Err(solver::RunError::Bare));
}

#[test]
fn positions_average_and_their_metal_adds_up() {
    let supply = "[supply]\ncurrent = \"6 A\"\n";
    let turning = source(
        "use = \"acid-copper\"",
        &format!(
            "{supply}[run]\ntime = \"1 h\"\n\
             positions = {{ turn_about = [205, 100], angles = [0, 90, 180, 270], shares = [1, 2, 3, 4] }}"
        ),
    );
    let (job, solved, _, deposit) = run(&turning);
    assert_eq!(solved.solutions.len(), 4);
    let shares: Vec<f64> = solved.positions.iter().map(|(_, share)| *share).collect();
    assert_eq!(shares, [0.1, 0.2, 0.3, 0.4]);
    // acid copper at 100 %: six ampere-hours on part and thief together
    let expected = 6.0 * 3600.0 * 63.546e-3 / (2.0 * FARADAY);
    let mass: f64 = deposit.bodies.iter().map(|b| b.mass_kg).sum();
    let anodes: f64 = deposit
        .bodies
        .iter()
        .filter(|b| job.layout.bodies[b.body].role == Role::Anode)
        .map(|b| b.mass_kg)
        .sum();
    assert!(((mass - anodes) / expected - 1.0).abs() < 1e-9, "{mass}");
    let findings = report::findings(&job, &solved, None);
    assert_eq!(findings.positions.len(), 4);
    // the peak over the positions is nowhere below the first position
    for (row, peak) in solved.first().bodies[0].stretches.iter().zip(&findings.peaks[0]) {
        assert!(*peak >= row.current_density_a_m2 * (1.0 - 1e-9));
    }
}

#[test]
fn assumed_values_are_moved_over_their_ranges() {
    let run = "[supply]\ncurrent_density = \"4 A/dm2\"\n[run]\ntime = \"25 min\"";
    let nickel = source("use = \"watts-nickel\"", run);
    let found = leaning(&nickel, &resolved(&nickel), None).expect("assumed values");
    let of = |name: &str| {
        found.leanings.iter().find(|l| l.name == name).unwrap_or_else(|| panic!("{found:?}"))
    };
    let exchange = of("bath.cathode.exchange");
    let volts =
        |end: Option<solver::Figures>| end.expect("solved").voltage_v - found.base.voltage_v;
    // one decade either way at 120 mV for each, and nothing else
    assert!(exchange.voltage_only && (volts(exchange.low) - 0.12).abs() < 1e-9);
    assert!((volts(exchange.high) + 0.12).abs() < 1e-9);
    let limiting = of("bath.cathode.limiting");
    let least = |end: Option<solver::Figures>| end.expect("solved").least_m.expect("plated");
    // the nearer to its limit the more even
    assert!(least(limiting.low) > least(limiting.high));
    // the shaded side gets less than the upper end of the covering threshold, 0.3 A/dm2, and would
    // be bare there, but more than the usual 0.1 A/dm2
    let threshold = of("bath.threshold");
    assert_eq!(least(threshold.low), found.base.least_m.expect("plated"));
    assert!(least(threshold.low) > 0.0 && least(threshold.high) == 0.0);
    assert!(found.leanings.iter().all(|l| l.name != "bath.conductivity"), "typical, not assumed");
    // a value that the job states is not assumed
    let stated = source(
        "use = \"watts-nickel\"\nlimiting = \"15 A/dm2\"\nthreshold = \"0.1 A/dm2\"\nanode = { law = \"none\" }\ncathode = { exchange = \"1e-4 A/dm2\" }",
        run,
    );
    assert_eq!(leaning(&stated, &resolved(&stated), None), None);
}

/// A file of one's own beside the job, and one that the job names.
#[test]
fn baths_of_ones_own_are_found_beside_the_job() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("writable");
    };
    write("baths.toml", "[shop-nickel]\nbased_on = \"watts-nickel\"\nconductivity = \"7.7 S/m\"\n");
    write("other.toml", "[watts-nickel]\nconductivity = \"9.9 S/m\"\n[bad]\nsolpe = 1\n");
    let run = "[supply]\ncurrent = \"3 A\"";
    let beside = |bath: &str| {
        let mut source = source(bath, run);
        source.name = folder.path().join("job.toml").to_string_lossy().into_owned();
        source
    };
    let job = resolved(&beside("use = \"shop-nickel\""));
    assert_eq!(job.layout.conductivity.si(), 7.7);
    let told = job.provenance.iter().find(|p| p.key == "bath.conductivity").expect("noted");
    assert!(told.origin.words().contains("baths.toml, `shop-nickel`, your own"), "{told:?}");
    let faulty = beside("use = \"watts-nickel\"\nfile = \"other.toml\"");
    let faults = resolve(&faulty).expect_err("solpe");
    let text = faults[0].render(&faulty, false);
    assert!(text.contains("other.toml:4:1") && text.contains("unknown key `solpe`"), "{text}");
    write("other.toml", "[watts-nickel]\nconductivity = \"9.9 S/m\"\n");
    assert_eq!(resolved(&faulty).layout.conductivity.si(), 9.9);
}

/// A place below the threshold stays bare in the deposit too, not only in the words about it; the
/// metal is that of the current above the threshold.
#[test]
fn below_the_covering_threshold_the_deposit_is_zero() {
    let job = |more: &str| {
        source(
            &format!("use = \"watts-nickel\"\nefficiency = \"100 %\"{more}"),
            "[supply]\ncurrent_density = \"4 A/dm2\"\n[run]\ntime = \"25 min\"",
        )
    };
    let (_, solved, time, all) = run(&job(""));
    let part = solved.first().bodies.iter().position(|b| b.role == Role::Part).expect("a part");
    let body = &solved.first().bodies[part];
    // a threshold between the least and the greatest density leaves some of the part bare
    let threshold = 0.5 * (body.density.min + body.density.max);
    let (job, _, _, some) = run(&job(&format!("\nthreshold = \"{threshold} A/m2\"")));
    let (all, some) = (all.of_body(part).expect("metal"), some.of_body(part).expect("metal"));
    let mut useful = 0.0;
    for (k, stretch) in body.stretches.iter().enumerate() {
        let covered = stretch.current_density_a_m2 >= threshold;
        useful += if covered { stretch.current_density_a_m2 * stretch.area_m2 } else { 0.0 };
        assert_eq!(some.thickness_m[k], if covered { all.thickness_m[k] } else { 0.0 });
    }
    assert!(useful > 0.0 && some.thickness.min == 0.0);
    let metal = &job.plating.as_ref().expect("a metal").metal;
    let expected = useful * time.si() * metal.mass_per_charge_kg_c();
    assert!((some.mass_kg / expected - 1.0).abs() < 1e-9);
}
