use proptest::prelude::*;
use solver::quantity::{AreaResistance, Conductivity, CurrentDensity, Potential};
use solver::{Drive, Kinetics, Law, Role};

use super::*;
use crate::bath::End;
use crate::diagnostic::{Diagnostic, Source};

const GOOD: &str = r#"title = "Cup"
unit  = "mm"

[tank]
size  = [600, 400]
depth = 300

[bath]
use = "watts-nickel"

[[part]]
name = "cup"
rect = { at = [300, 200], size = [60, 40] }

[[anode]]
name = "left"
rect = { at = [40, 200], size = [20, 200] }

[supply]
current_density = "4 A/dm2"

[run]
time = "25 min"
"#;

fn source(text: &str) -> Source {
    Source { name: "bath.toml".to_owned(), text: text.to_owned() }
}

fn good(text: &str) -> Resolved {
    let source = source(text);
    resolve(&source).unwrap_or_else(|faults| {
        let all: Vec<String> = faults.iter().map(|f| f.render(&source, false)).collect();
        panic!("{}", all.join("\n"))
    })
}

/// Everything that is wrong with a text, as people read it.
fn bad(text: &str) -> String {
    let source = source(text);
    let faults = resolve(&source).expect_err("this job is wrong");
    assert!(!faults.is_empty());
    let all: Vec<String> = faults.iter().map(|f| f.render(&source, false)).collect();
    all.join("\n\n")
}

/// The good job with one piece of it replaced.
fn with(piece: &str, instead: &str) -> String {
    assert!(GOOD.contains(piece), "{piece}");
    GOOD.replace(piece, instead)
}

macro_rules! bad_jobs {
    ($($name:ident: $text:expr;)*) => {$(
        #[test]
        fn $name() {
            let text: String = $text;
            insta::assert_snapshot!(bad(&text));
        }
    )*};
}

bad_jobs! {
    unknown_key_at_the_top: with("title =", "titel =");
    unknown_keys_in_tables: with("size  =", "sise =").replace("time =", "tiem =").replace("use =", "usee =");
    unknown_key_of_a_shape: with("size = [60, 40]", "sice = [60, 40]");
    later_work_is_refused_by_name: with("current_density = \"4 A/dm2\"", "current = \"3 A\"\nlimit = { current = \"50 A\" }\nlead_resistance = \"2 mohm\"")
        .replace("name = \"left\"", "name = \"left\"\nfollow = { body = \"cup\" }\nfile = { name = \"x.dxf\" }");
    marks_off_the_outline: with(
        "name = \"cup\"",
        "name = \"cup\"\nmasked = [{ from = [300, 200], to = [330, 219.5] }]\nsignificant = [{ from_corner = 9, to_corner = 1.5 }]",
    );
    marks_without_ends: with(
        "name = \"cup\"",
        "name = \"cup\"\nmasked = [{}, { from = [330, 220] }]\nsignificant = []\nnot_significant = [{ from = [330, 220], to_corner = 1 }]",
    );
    marks_of_no_length: with("name = \"cup\"", "name = \"cup\"\nmasked = [{ from_corner = 2, to_corner = 2 }]");
    marks_from_one_outline_to_another: with("rect = { at = [300, 200], size = [60, 40] }",
        "ring = { at = [300, 200], outer = 30, inner = 20 }\nmasked = [{ from = [330, 200], to = [280, 200] }]");
    marks_that_leave_nothing_bare: with(
        "name = \"cup\"",
        "name = \"cup\"\nmasked = [{ from_corner = 1, to_corner = 3 }, { from_corner = 3, to_corner = 1 }]",
    );
    marks_of_other_bodies: with("name = \"left\"", "name = \"left\"\nsignificant = [{ from_corner = 1, to_corner = 2 }]")
        .replace("[supply]", "[[shield]]\nname = \"sheet\"\nrect = { at = [100, 200], size = [4, 300] }\nmasked = [{ from_corner = 1, to_corner = 2 }]\n\n[supply]");
    an_axial_section_with_depth: with("depth = 300", "depth = 300\nsymmetry = \"axial\"");
    an_axial_section_from_above: with("depth = 300", "symmetry = \"axial\"\nsection = \"plan\"");
    several_supplies: with("[supply]", "[[supply]]\nanodes = [\"left\"]\ncurrent = \"3 A\"\n\n[[supply]]");
    a_supply_for_some_of_the_anodes: with(
        "[supply]",
        "[[anode]]\nname = \"right\"\nrect = { at = [560, 200], size = [20, 200] }\n\n[[supply]]\nanodes = [\"left\"]",
    );
    a_supply_names_an_unknown_anode: with("[supply]", "[supply]\nanodes = [\"lef\"]");
    screens_that_contradict_themselves: with(
        "[supply]",
        "[[screen]]\nname = \"a\"\nrect = { at = [80, 200], size = [4, 300] }\n\
         [[screen]]\nname = \"b\"\nrect = { at = [90, 200], size = [4, 300] }\nopen_fraction = 0.3\nconductivity = \"3 S/m\"\n\
         [[screen]]\nname = \"c\"\nrect = { at = [100, 200], size = [4, 300] }\nopen_fraction = \"130 %\"\n\
         [[screen]]\nname = \"d\"\nrect = { at = [110, 200], size = [4, 300] }\nopen_fraction = 0.3\nhole = 3\nslit = 2\n\
         [[screen]]\nname = \"e\"\nrect = { at = [120, 200], size = [4, 300] }\nopen_fraction = 0.3\nthickness = 2\n\
         [[shield]]\nname = \"f\"\nrect = { at = [130, 200], size = [4, 300] }\nopen_fraction = 0.3\n\n[supply]",
    );
    a_bare_number_for_a_quantity: with("\"4 A/dm2\"", "4").replace("\"25 min\"", "25");
    the_wrong_kind_of_unit: with("\"4 A/dm2\"", "\"4 V\"").replace("\"25 min\"", "\"25 mm\"");
    an_unknown_unit: with("\"25 min\"", "\"25 minuts\"");
    not_finite: with("[600, 400]", "[inf, nan]").replace("\"4 A/dm2\"", "\"nan A/dm2\"");
    huge_numbers: with("[600, 400]", "[1e308, 1e308]").replace("depth = 300", "depth = 99999999999999999999");
    negative_values: with("depth = 300", "depth = -300").replace("\"4 A/dm2\"", "\"-4 A/dm2\"").replace("[60, 40]", "[-60, 40]");
    a_two_point_polygon: with("rect = { at = [300, 200], size = [60, 40] }", "polygon = [[250,150],[350,150]]");
    a_self_crossing_polygon: with("rect = { at = [300, 200], size = [60, 40] }", "polygon = [[250,150],[350,250],[350,150],[250,250]]");
    a_broken_path: with("rect = { at = [300, 200], size = [60, 40] }", "path = \"M 0 0 L 10 Q Z\"");
    two_shapes_and_none: with("name = \"cup\"", "name = \"cup\"\ndisc = { at = [1, 1], radius = 5 }").replace("rect = { at = [40, 200], size = [20, 200] }", "");
    duplicate_names: with("name = \"left\"", "name = \"cup\"");
    a_copy_takes_a_name: with("name = \"left\"", "name = \"left\"\nrepeat = { count = 2, step = [0, 0.5] }").replace("\"cup\"", "\"left-2\"");
    silly_repeats: with("name = \"left\"", "name = \"left\"\nrepeat = { count = 2.5, step = [0, 60] }").replace("name = \"cup\"", "name = \"cup\"\nrepeat = { cuont = 2 }");
    no_part_no_anode: with("[[part]]", "[[shield]]").replace("[[anode]]", "[[shield]]");
    everything_missing: String::from("title = \"x\"\n");
    broken_toml: with("size  = [600, 400]", "size  = [600, 400").replace("title =", "titel =");
    a_key_twice: with("depth = 300", "depth = 300\ndepth = 400");
    wrong_forms: with("[600, 400]", "\"big\"").replace("\"Cup\"", "3").replace("\"25 min\"", "[25]").replace("size = [60, 40]", "size = [60, 40, 3]");
    a_table_for_a_list: with("[[part]]", "part = 3\n[[shield]]");
    laws_with_the_wrong_keys: with(
        "use = \"watts-nickel\"",
        "use = \"watts-nickel\"\ncathode = { law = \"tafel\", exchange = \"1e-4 A/dm2\", resistance = \"2e-5 ohm m2\" }\nanode = { law = \"liner\", resistance = \"2e-5 ohm m2\" }",
    );
    a_table_law_that_falls: with(
        "use = \"watts-nickel\"",
        "use = \"watts-nickel\"\ncathode = { law = \"table\", points = [[\"0 mV\", \"0 A/dm2\"], [\"100 mV\", \"1 A/dm2\"], [\"90 mV\", \"2 A/dm2\"]] }",
    );
    no_bath_values: with("use = \"watts-nickel\"", "temperature = \"130 degF\"");
    an_unknown_bath_and_metal: with("use = \"watts-nickel\"", "use = \"wats-nickel\"\nmetal = \"Cr\"");
    an_inverted_window_and_efficiency: with(
        "use = \"watts-nickel\"",
        "use = \"watts-nickel\"\nwindow = { min = \"8 A/dm2\" }\nefficiency = [[\"1 A/dm2\", 0.9], [\"0.5 A/dm2\", 1.9]]",
    );
    two_ways_to_set_the_supply: with("[supply]", "[supply]\nvoltage = \"5 V\"");
    no_way_to_set_the_supply: with("current_density = \"4 A/dm2\"", "");
    keys_of_other_roles: with("name = \"cup\"", "name = \"cup\"\noffset = \"-30 mV\"\nconductivity = \"3 S/m\"")
        .replace("[supply]", "[[shield]]\nname = \"s\"\nrect = { at = [80, 200], size = [4, 300] }\npolarization = { law = \"none\" }\n[supply]");
    a_thickness_without_time_or_metal: with("[run]\ntime = \"25 min\"", "[want]\nmin_thickness = \"20 um\"\nmax_thickness = \"10 um\"");
    an_unknown_drawing_unit: with("unit  = \"mm\"", "unit = \"milimetre\"");
    a_body_outside_the_tank: with("at = [300, 200]", "at = [900, 200]");
    a_part_in_an_anode: with("at = [300, 200]", "at = [60, 200]").replace("time = \"25 min\"", "time = \"25 mn\"");
    copies_in_each_other: with("name = \"cup\"", "name = \"cup\"\nrepeat = { count = 4, step = [20, 0] }");
    a_tank_that_crosses_itself: with("size  = [600, 400]", "outline = { polygon = [[0,0],[600,400],[600,0],[0,400]] }");
    a_law_out_of_range: with("use = \"watts-nickel\"", "use = \"watts-nickel\"\ncathode = { law = \"tafel\", exchange = \"1e200 A/dm2\", slope = \"1e-9 mV\" }");
    inches_are_not_millimetres: with("unit  = \"mm\"", "unit = \"m\"");
    copper_in_which_state: with("use = \"watts-nickel\"", "use = \"watts-nickel\"\nmetal = \"Cu\"");
    a_metal_of_nothing: with("use = \"watts-nickel\"", "use = \"watts-nickel\"\nmetal = { molar_mass = \"5869 g/mol\", density = \"8.9 g/cm3\", valence = 2 }");
    two_run_lengths: with("time =", "ampere_hours = \"12 A h\"\ntime =");
    positions_with_faults: with("[run]", "[run]\npositions = { angles = [0, 90], shifts = [[0, 0]], shares = [1, -1], bodies = [\"cpu\"] }");
    positions_of_nothing: with("[run]", "[run]\npositions = { shares = [1, 2] }");
    a_part_that_turns_into_an_anode: with("[run]", "[run]\npositions = { turn_about = [170, 200], angles = [0, 180] }");
    a_bath_file_that_is_not_there: with("use = \"watts-nickel\"", "use = \"watts-nickel\"\nfile = \"my_baths.toml\"");
    bath_facts_with_faults: with("use = \"watts-nickel\"", "use = \"watts-nickel\"\nanode_kind = \"solubel\"\narea_ratio = [2, 1]\nhydrogen_share = 1.5\nthreshold = \"-1 A/dm2\"\ntemperature_window = [\"60 degC\", \"50 degC\"]\nlimiting = \"9 A/dm2\"\ncathode = { limiting = \"8 A/dm2\", resistance = \"2e-5 ohm m2\" }");
    a_bath_far_too_cold: with("use = \"watts-nickel\"", "use = \"watts-nickel\"\ntemperature = \"10 degC\"");
    two_breaks_in_the_toml: with("depth = 300", "depth = 300 mm").replace("time =", "tiem =").replace("\"left\"", "\"left");
    an_absurd_accuracy: format!("{GOOD}\n[solve]\naccuracy = \"0 %\"\n");
}

#[test]
fn a_full_job_becomes_the_layout_it_says() {
    let job = good(
        r#"unit = "in"
[tank]
outline = { polygon = [[0,0],[5,0],[5,2.5],[1.875,2.5]] }
depth = "48.2 mm"
section = "elevation"
[bath]
conductivity = "85 mS/cm"
temperature = "130 degF"
cathode = { law = "butler-volmer", exchange = "1e-3 ASF", alpha_anodic = 0.5, alpha_cathodic = 0.4, limiting = "15 ASD", rest = "-0.26 V" }
anode = { law = "linear", resistance = "2 mV/(A/dm2)" }
window = { max = "60 A/ft2" }
metal = { molar_mass = "58.69 g/mol", density = "8.9 g/cm3", valence = 2 }
efficiency = "95 %"
[[anode]]
name = "a"
disc = { at = [4, 1], radius = 0.25 }
[[part]]
name = "bar"
disc = { at = [2, 1], radius = 0.1 }
move = [0.1, 0]
repeat = { count = 3, step = [0.5, 0] }
[[thief]]
name = "t"
rect = { at = [2, 0.2], size = [1, 0.1] }
offset = "-30 mV"
polarization = { law = "none" }
[[screen]]
name = "bag"
rect = { at = [3.6, 1], size = [0.1, 1.5] }
conductivity = "3 S/m"
[supply]
voltage = "5 V"
[solve]
accuracy = "0.5 %"
"#,
    );
    let layout = &job.layout;
    let names: Vec<&str> = layout.bodies.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(names, ["a", "bar-1", "bar-2", "bar-3", "t", "bag"]);
    let centre = |k: usize| layout.bodies[k].outline.bounds().center();
    // 2.1 in and 2.6 in, by the definition of the inch
    assert!(
        (centre(1).x - 2.1 * 0.0254).abs() < 1e-12 && (centre(2).x - 2.6 * 0.0254).abs() < 1e-12
    );
    assert_eq!(layout.depth.si(), 48.2 * 1e-3);
    assert_eq!(layout.conductivity, Conductivity::new(85.0 * (1e-3 / 1e-2)));
    assert!((layout.temperature.to_celsius() - (130.0 - 32.0) / 1.8).abs() < 1e-9);
    assert_eq!(layout.bodies[4].role, Role::Thief { offset: Potential::new(-0.03) });
    assert_eq!(layout.bodies[5].role, Role::Screen { conductivity: Conductivity::new(3.0) });
    assert_eq!(layout.bodies[4].law.kinetics, Kinetics::None);
    let Law { kinetics: Kinetics::Linear { resistance }, .. } = layout.bodies[0].law else {
        panic!("{:?}", layout.bodies[0].law)
    };
    assert!((resistance.si() / AreaResistance::new(2e-5).si() - 1.0).abs() < 1e-12);
    assert_eq!(layout.bodies[1].law.rest, Potential::new(-0.26));
    assert_eq!(layout.bodies[1].law.limiting, Some(CurrentDensity::a_dm2(15.0)));
    assert_eq!(layout.supplies[0].drive, Drive::Voltage(Potential::new(5.0)));
    assert_eq!(job.settings.accuracy, 0.5 * 1e-2);
    let plating = job.plating.expect("a metal is stated");
    assert!((plating.efficiency.at(CurrentDensity::a_dm2(3.0)) - 0.95).abs() < 1e-15);
    assert_eq!(plating.time, None);
}

#[test]
fn transforms_apply_in_their_order() {
    // an L of 20 by 10: mirrored left-right, turned by a quarter, moved by (5, 7)
    let job = good(&with(
        "rect = { at = [300, 200], size = [60, 40] }",
        "polygon = [[300,200],[320,200],[320,202],[302,202],[302,210],[300,210]]\n\
         mirror = \"x\"\nturn = 90\nmove = [5, 7]",
    ));
    let outline = &job.layout.bodies[0].outline;
    let bounds = outline.bounds();
    // centre (310, 205) stays, then moves to (315, 212); 20 x 10 becomes 10 x 20
    let expected = [0.310, 0.202, 0.320, 0.222];
    for (got, want) in [bounds.x0, bounds.y0, bounds.x1, bounds.y1].into_iter().zip(expected) {
        assert!((got - want).abs() < 1e-12, "{bounds:?}");
    }
    // mirrored, the long leg (y = 200..202) keeps its side and the short one is right;
    // after the quarter turn the long leg is right and the short one on top
    let inside = |x: f64, y: f64| outline.contains(shapes::Point::new(x * 1e-3, y * 1e-3));
    assert!(inside(319.0, 205.0) && inside(312.0, 221.0) && !inside(312.0, 205.0));
}

#[test]
fn marks_move_with_the_body() {
    // the L of the test above; its right end, from (320, 200) up to (320, 202), goes by mirror to
    // x = 300, by the turn about (310, 205) to y = 195, by the move to y = 202
    let job = good(&with(
        "rect = { at = [300, 200], size = [60, 40] }",
        "polygon = [[300,200],[320,200],[320,202],[302,202],[302,210],[300,210]]\n\
         mirror = \"x\"\nturn = 90\nmove = [5, 7]\n\
         masked = [{ from = [320, 200], to = [320.1, 202] }]",
    ));
    let body = &job.layout.bodies[0];
    let [mask] = body.masked.as_slice() else { panic!("{:?}", body.masked) };
    assert!((mask.to_m - mask.from_m - 2e-3).abs() < 1e-12);
    let middle = body.outline.loops()[0].point_at(0.5 * (mask.from_m + mask.to_m));
    assert!((middle - shapes::Point::new(0.319, 0.202)).hypot() < 1e-12, "{middle}");
}

#[test]
fn corner_numbers_are_those_of_the_outline_where_it_hangs() {
    for mirror in ["", "mirror = \"x\"\n"] {
        let job = good(&with(
            "name = \"cup\"",
            &format!(
                "name = \"cup\"\n{mirror}not_significant = [{{ from_corner = 4, to_corner = 1 }}]\nrepeat = {{ count = 2, step = [90, 0] }}"
            ),
        ));
        for body in &job.layout.bodies[..2] {
            let curve = &body.outline.loops()[0];
            let corners = curve.corners();
            let [span] = body.significant.except.as_slice() else { panic!("one stretch") };
            let near =
                |s: f64, corner: usize| (curve.point_at(s) - corners[corner].at).hypot() < 1e-12;
            assert!(near(span.from_m, 3) && near(span.to_m, 0), "{span:?}");
            assert!(span.to_m - span.from_m < 0.5 * curve.length());
        }
    }
}

#[test]
fn a_ball_of_20_mm_decides_what_is_significant_unless_the_job_does() {
    let shape = "polygon = [[300,200],[340,200],[340,202],[302,202],[302,240],[300,240]]";
    let ell = with("rect = { at = [300, 200], size = [60, 40] }", shape);
    let at = |job: &Resolved, x: f64, y: f64| {
        let body = &job.layout.bodies[0];
        let (l, s, _) = body.outline.nearest(shapes::Point::new(1e-3 * x, 1e-3 * y));
        body.is_significant(l, s)
    };
    // 10 mm from the nook at (302, 202) on either side
    let places = [(311.9, 202.0), (312.1, 202.0), (302.0, 211.9), (302.0, 212.1), (300.0, 205.0)];
    let of = |text: &str| {
        let job = good(text);
        places.map(|(x, y)| at(&job, x, y))
    };
    assert_eq!(of(&ell), [false, true, false, true, true]);
    let small = format!("{ell}\n[want]\nsignificant_ball = \"4 mm\"\n");
    assert_eq!(of(&small), [true; 5]);
    let off = format!("{ell}\n[want]\nsignificant_ball = \"0 mm\"\n");
    assert_eq!(good(&off).layout.bodies[0].significant.only, None);
    let marked = ell.replace(
        "name = \"cup\"",
        "name = \"cup\"\nsignificant = [{ from = [340, 202], to = [302, 240] }]\nnot_significant = [{ from = [312, 202], to = [302, 202] }]",
    );
    assert_eq!(of(&marked), [false, true, true, true, false]);
}

#[test]
fn every_value_has_its_source() {
    let job =
        good(&with("use = \"watts-nickel\"", "use = \"watts-nickel\"\nconductivity = \"9 S/m\""));
    let origin = |key: &str| {
        let found = job.provenance.iter().find(|p| p.key == key);
        found.unwrap_or_else(|| panic!("{key} in {:?}", job.provenance)).origin.words()
    };
    assert_eq!(origin("bath.conductivity"), "job file, line 10");
    assert!(origin("bath.cathode.exchange").contains("assumed: from memory of Newman"));
    assert!(origin("bath.efficiency").contains("Rudy"));
    assert!(origin("solve.accuracy").starts_with("default"));
    assert!(job.cautions.iter().any(|c| c.contains("Nickel salts")));
}

/// 8.5 S/m at 55 degC, 2 % for each kelvin: 8.5 · (1 + 0.02 · 5) at 60 degC.
#[test]
fn the_temperature_scales_the_librarys_conductivity() {
    let job =
        good(&with("use = \"watts-nickel\"", "use = \"watts-nickel\"\ntemperature = \"60 degC\""));
    assert!((job.layout.conductivity.si() - 8.5 * 1.1).abs() < 1e-9);
    let own = "use = \"watts-nickel\"\ntemperature = \"60 degC\"\nconductivity = \"8 S/m\"";
    assert_eq!(good(&with("use = \"watts-nickel\"", own)).layout.conductivity.si(), 8.0);
    let other =
        "use = \"watts-nickel\"\ntemperature = \"60 degC\"\nconductivity_per_kelvin = \"1 %\"";
    let job = good(&with("use = \"watts-nickel\"", other));
    assert!((job.layout.conductivity.si() - 8.5 * 1.05).abs() < 1e-9);
}

#[test]
fn a_temperature_at_which_the_bath_does_not_work_is_warned_of() {
    let at = |temperature: &str| {
        let text = format!("use = \"watts-nickel\"\ntemperature = \"{temperature}\"");
        let job = good(&with("use = \"watts-nickel\"", &text));
        job.warnings.iter().map(|w| w.code).collect::<Vec<_>>()
    };
    assert_eq!(at("70 degC"), ["W003"]);
    // 122 and 149 degF are the window's ends, 50 and 65 degC
    assert_eq!(at("122 degF"), Vec::<&str>::new());
    assert_eq!(at("149 degF"), Vec::<&str>::new());
}

#[test]
fn single_values_of_the_library_may_be_replaced() {
    let text = with(
        "use = \"watts-nickel\"",
        "use = \"watts-nickel\"\ncathode = { slope = \"110 mV\" }\nlimiting = \"9 A/dm2\"\nanode_limit = \"5 A/dm2\"\narea_ratio = [1, 3]",
    );
    let job = good(&text);
    let law = &job.layout.bodies[0].law;
    let Kinetics::Tafel { exchange, slope } = law.kinetics else { panic!("{law:?}") };
    assert!((exchange.to_a_dm2() / 1e-4 - 1.0).abs() < 1e-12);
    assert!((slope.to_mv() / 110.0 - 1.0).abs() < 1e-12);
    assert_eq!(law.rest, Potential::new(-0.26));
    let is = |found: Option<CurrentDensity>, a_dm2: f64| {
        found.is_some_and(|i| (i.to_a_dm2() / a_dm2 - 1.0).abs() < 1e-12)
    };
    assert!(is(law.limiting, 9.0) && is(job.bath.anode_limit, 5.0) && is(job.bath.threshold, 0.1));
    assert_eq!(job.bath.area_ratio, Some((1.0, 3.0)));
    assert_eq!(job.bath.anode_kind, Some(AnodeKind::Soluble));
    let keys: Vec<&str> = job.bath.cautions.iter().map(|c| c.key).collect();
    assert_eq!(keys, ["nickel", "high-current", "waste"]);
}

#[test]
fn a_varied_value_stands_at_the_end_of_its_range() {
    let source = source(GOOD);
    let at = |key: &str, end| resolve_at(&source, Some((key, end))).expect("a good job");
    let job = at("bath.cathode.limiting", End::High);
    let limiting = job.layout.bodies[0].law.limiting.expect("the library's");
    assert!((limiting.to_a_dm2() / 25.0 - 1.0).abs() < 1e-12);
    let job = at("bath.conductivity", End::Low);
    assert_eq!(job.layout.conductivity.si(), 6.0);
    let plating = at("bath.efficiency", End::Low).plating.expect("a metal");
    assert!((plating.efficiency.at(CurrentDensity::a_dm2(4.0)) - 0.93).abs() < 1e-12);
    assert_eq!(at("bath.nothing", End::Low).layout.conductivity.si(), 8.5);
}

#[test]
fn copper_in_a_cyanide_bath_is_copper_one() {
    let job = good(
        &with("use = \"watts-nickel\"", "use = \"cyanide-copper-strike\"\nmetal = \"Cu\"")
            .replace("4 A/dm2", "1 A/dm2"),
    );
    assert_eq!(job.plating.map(|p| p.metal.valence), Some(1));
}

#[test]
fn a_mean_outside_the_window_is_a_warning() {
    let text = with("\"4 A/dm2\"", "\"14 A/dm2\"");
    let job = good(&text);
    let shown: Vec<String> = job.warnings.iter().map(|w| w.render(&source(&text), false)).collect();
    insta::assert_snapshot!(shown.join("\n"));
}

#[test]
fn no_damage_to_a_job_makes_the_reader_panic() {
    // every prefix, and every line taken out
    for (at, _) in GOOD.char_indices() {
        let _ = resolve(&source(&GOOD[..at]));
    }
    let lines: Vec<&str> = GOOD.lines().collect();
    for k in 0..lines.len() {
        let mut fewer = lines.clone();
        fewer.remove(k);
        let _ = resolve(&source(&fewer.join("\n")));
    }
    let strange = [
        "",
        "\u{feff}",
        "=",
        "[[[",
        "a = [[[[[[[[",
        "\"",
        "[bath]\nuse = \"\"\"",
        "x = 1979-05-27",
        "\u{1f529} = 1",
    ];
    for text in strange {
        let _ = resolve(&source(text));
    }
    let deep = format!("a = {}", "[".repeat(100_000));
    let _ = resolve(&source(&deep));
}

const TOKENS: &[&str] = &[
    "",
    "\"",
    "[",
    "]",
    "{",
    "}",
    "=",
    ",",
    "\n",
    "-",
    "1e999",
    "nan",
    "inf",
    "0",
    "-1",
    "1e308",
    "99999999999999999999",
    "true",
    "\"4 A/dm2\"",
    "\"mm\"",
    "[[part]]\n",
    "repeat = { count = 1000, step = [0, 0] }\n",
    "turn = 1e300\n",
    "polygon = [[0,0],[0,0],[0,0]]\n",
    "path = \"M0 0A1 1 0 0 1 1e308 0Z\"\n",
    "µ",
    "\u{0}",
    "1979-05-27",
];

proptest! {
    #[test]
    fn no_edit_of_a_job_makes_the_reader_panic(
        edits in proptest::collection::vec((0..GOOD.len(), 0..30_usize, 0..TOKENS.len()), 1..5),
    ) {
        let mut text = GOOD.to_owned();
        for (start, length, token) in edits {
            let start = start.min(text.len());
            let end = (start + length).min(text.len());
            if text.is_char_boundary(start) && text.is_char_boundary(end) {
                text.replace_range(start..end, TOKENS[token]);
            }
        }
        let source = source(&text);
        if let Err(faults) = resolve(&source) {
            prop_assert!(!faults.is_empty());
            for fault in faults {
                let shown = fault.render(&source, true);
                prop_assert!(shown.contains(fault.code));
            }
        }
    }
}

#[test]
fn every_message_has_a_place_or_names_what_is_missing() {
    let faults =
        resolve(&source("unit = \"mm\"\n[tank]\nsize = [1, 1]\n")).expect_err("incomplete");
    for fault in faults {
        assert!(fault.place.is_some() || fault.code == "E006", "{fault:?}");
    }
}

/// A job of one bath and the tables of two.
const TWO: &str = r#"title = "Cup"
unit  = "mm"
supply = { current_density = "4 A/dm2" }

[tank]
size  = [600, 400]
depth = 300

[[part]]
name = "cup"
rect = { at = [300, 200], size = [60, 40] }

[[anode]]
name = "left"
rect = { at = [40, 200], size = [20, 200] }

[want]
designation = "Fe/Cu20a Ni30b"

[[layer]]
name = "copper"
bath = { use = "acid-copper" }
run = { time = "45 min" }

[[layer]]
name = "bright nickel"
bath = { use = "watts-nickel" }
run = { time = "25 min" }
tank = { size = [700, 400], depth = 300 }
part = { name = "cup", rect = { at = [400, 200], size = [60, 40] }, turn = 90 }
want = { max_thickness = "60 um" }
"#;

/// No other file is there.
fn no_file(name: &str) -> Result<Source, Box<Diagnostic>> {
    Err(Box::new(Diagnostic::error("E001", format!("cannot read `{name}`"))))
}

fn sequence(text: &str) -> Sequence {
    resolve_sequence(&source(text), &no_file).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Everything that is wrong with a sequence, as people read it.
fn bad_sequence(text: &str, load: &dyn Fn(&str) -> Result<Source, Box<Diagnostic>>) -> String {
    let files = resolve_sequence(&source(text), load).expect_err("this sequence is wrong");
    let all: Vec<String> =
        files.iter().flat_map(|f| f.messages.iter().map(|m| m.render(&f.source, false))).collect();
    all.join("\n\n")
}

#[test]
fn layers_are_the_file_with_their_own_tables_in_its_stead() {
    assert!(is_sequence(&source(TWO)) && !is_sequence(&source(GOOD)));
    let read = sequence(TWO);
    let names: Vec<&str> = read.layers.iter().map(|l| l.file_name.as_str()).collect();
    assert_eq!(names, ["1-copper", "2-bright-nickel"]);
    let [copper, nickel] = read.layers.as_slice() else { panic!("two layers") };
    assert_eq!(copper.job.title, "Cup · copper");
    assert_eq!(nickel.job.layout.supplies, copper.job.layout.supplies);
    let tank_mm = |layer: &LayerJob| (layer.job.layout.tank.bounds().width() * 1e3).round();
    assert_eq!((tank_mm(copper), tank_mm(nickel)), (600.0, 700.0));
    let part = |layer: &LayerJob| {
        let found = layer.job.layout.bodies.iter().find(|body| body.role == Role::Part);
        found.expect("a part").outline.bounds()
    };
    assert!((part(copper).width() - 0.06).abs() < 1e-12);
    assert!((part(nickel).width() - 0.04).abs() < 1e-12);
    // the file's own [want] is not one of a layer
    assert_eq!(copper.job.want.min_thickness, None);
    let line = |layer: &LayerJob| {
        let found = layer.job.provenance.iter().find(|p| p.key == "run.time");
        found.map(|p| p.origin.words()).unwrap_or_default()
    };
    assert_eq!(
        (line(copper), line(nickel)),
        ("job file, line 23".into(), "job file, line 28".into())
    );
    let um = |k: usize| match read.demands[k].limit {
        Limit::Least(l) | Limit::Most(l) => l.to_um().round(),
        Limit::LowestShare(share) => share,
    };
    assert_eq!((um(0), um(1), um(2), read.demands.len()), (20.0, 30.0, 60.0, 3));
    assert_eq!(read.demands[1].layers, [1]);
}

#[test]
fn two_baths_of_double_nickel_count_together() {
    let third = "\n[[layer]]\nname = \"semi-bright\"\nbath = { use = \"watts-nickel\" }\nrun = { time = \"20 min\" }\n";
    let before = "\n[[layer]]\nname = \"bright nickel\"";
    let text = TWO.replace(before, &format!("{third}{before}")).replace("Ni30b", "Ni30d");
    let read = sequence(&text);
    assert!(read.warnings.is_empty());
    let nickel: Vec<&Demand> = read.demands.iter().filter(|d| d.layers == [1, 2]).collect();
    assert_eq!(nickel.len(), 2);
    // nickel chapters of a finishing guidebook after ASTM B456: semi-bright at least 60 %
    assert_eq!(nickel[1].limit, Limit::LowestShare(0.6));
    let one = sequence(&TWO.replace("Ni30b", "Ni30d"));
    assert_eq!(one.warnings.len(), 1, "one bath cannot plate double nickel");
}

#[test]
fn a_layer_may_have_a_file_of_its_own() {
    let text = r#"title = "Cup"
[[layer]]
name = "nickel"
job = "nickel.toml"
"#;
    let load = |name: &str| {
        assert_eq!(name, "jobs/nickel.toml");
        Ok(Source { name: name.to_owned(), text: GOOD.to_owned() })
    };
    let main = Source { name: "jobs/cup.toml".to_owned(), text: text.to_owned() };
    let read = resolve_sequence(&main, &load).expect("a sequence");
    assert_eq!(read.layers[0].source.name, "jobs/nickel.toml");
    // faults of that file are shown there
    let broken = |name: &str| {
        let text = with("4 A/dm2", "4 A");
        Ok(Source { name: name.to_owned(), text })
    };
    insta::assert_snapshot!("a_fault_in_the_file_of_a_layer", bad_sequence(text, &broken));
    insta::assert_snapshot!("a_layer_whose_file_is_missing", bad_sequence(text, &no_file));
    let nested = |name: &str| Ok(Source { name: name.to_owned(), text: TWO.to_owned() });
    insta::assert_snapshot!("a_sequence_inside_a_sequence", bad_sequence(text, &nested));
}

#[test]
fn what_is_wrong_with_a_sequence_is_shown_where_it_stands() {
    let bad = |from: &str, to: &str| {
        assert!(TWO.contains(from), "{from}");
        bad_sequence(&TWO.replace(from, to), &no_file)
    };
    let cases = [
        ("sequence_other_shape", "size = [60, 40] }, turn", "size = [61, 40] }, turn"),
        ("sequence_other_name", "part = { name = \"cup\"", "part = { name = \"mug\""),
        ("sequence_other_depth", "[700, 400], depth = 300", "[700, 400], depth = 200"),
        ("sequence_no_time", "run = { time = \"25 min\" }\n", ""),
        ("sequence_other_metal", "Cu20a Ni30b", "Ni30b Cr r"),
        ("sequence_not_a_designation", "Cu20a Ni30b", "Cu20a Ni30"),
        ("sequence_class", "Fe/Cu20a Ni30b", "SC4"),
        ("sequence_same_name", "name = \"bright nickel\"", "name = \"copper\""),
        ("sequence_shared_fault_once", "supply = { current_density = \"4 A/dm2\" }", ""),
        ("sequence_unknown_key", "run = { time = \"45 min\" }", "runs = { time = \"45 min\" }"),
        ("sequence_beside_job", "run = { time = \"45 min\" }", "job = \"x.toml\""),
    ];
    for (name, from, to) in cases {
        insta::assert_snapshot!(name, bad(from, to));
    }
}

#[test]
fn a_sequence_without_layers_is_none() {
    let text = format!("layer = []\n{GOOD}");
    assert!(is_sequence(&source(&text)));
    assert!(bad_sequence(&text, &no_file).contains("a sequence needs at least one layer"));
    for text in ["layer = 5\n", "layer = [5]\n", "[layer]\n", "[[layer]]\nname = \"\\u0007\"\n"] {
        assert!(!bad_sequence(&format!("{text}{GOOD}"), &no_file).is_empty());
    }
}

#[test]
fn a_designation_sets_the_least_thickness_of_one_bath() {
    let want = |designation: &str, bath: &str| {
        let text = with("watts-nickel", bath);
        good(&format!("{text}\n[want]\ndesignation = \"{designation}\"\n")).want.min_thickness
    };
    let um = |length: Option<solver::quantity::Length>| length.map(|l| l.to_um().round());
    assert_eq!(um(want("Fe/Zn12/A", "alkaline-zinc")), Some(12.0));
    // ASTM B633: service class 4 is 25 um
    assert_eq!(um(want("SC4", "alkaline-zinc")), Some(25.0));
    assert_eq!(um(want("Cu/Ni10b", "watts-nickel")), Some(10.0));
    let more = with("watts-nickel", "alkaline-zinc");
    let more =
        good(&format!("{more}\n[want]\ndesignation = \"Fe/Zn8\"\nmin_thickness = \"9 um\"\n"));
    assert_eq!(um(more.want.min_thickness), Some(9.0));
    let wrong = format!("{GOOD}\n[want]\ndesignation = \"Fe/Ni20b Cr r\"\n");
    insta::assert_snapshot!("a_designation_of_two_layers_for_one_bath", bad(&wrong));
}

#[test]
fn screens_are_as_open_as_they_say() {
    let text = with(
        "[supply]",
        "[[screen]]\nname = \"bag\"\nrect = { at = [80, 200], size = [2, 300] }\nopen_fraction = 0.49\n\
         [[screen]]\nname = \"sheet\"\nrect = { at = [100, 200], size = [4, 300] }\nopen_fraction = \"30 %\"\nhole = 5\n\n[supply]",
    );
    let job = good(&text);
    let bath = job.layout.conductivity.si();
    let inside = |name: &str| {
        let body = job.layout.bodies.iter().find(|body| body.name == name).expect("it is there");
        match body.role {
            Role::Screen { conductivity } => conductivity.si(),
            other => panic!("{other:?}"),
        }
    };
    // cloth: 0.49^1.5 = 0.343
    assert!((inside("bag") / (0.343 * bath) - 1.0).abs() < 1e-12);
    // between a lone hole of 5 mm in 4 mm, 0.3 × 4 / (4 + π 5/4), and the channels alone
    let lone = 0.3 * 4.0 / (4.0 + std::f64::consts::PI * 1.25);
    let share = inside("sheet") / bath;
    assert!(share > lone && share < 0.3, "{share}");
}
