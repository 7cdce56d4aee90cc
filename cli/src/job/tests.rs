//! Jobs that are refused, as people read it; the other tests of jobs stand in the modules below.
use proptest::prelude::*;
use solver::quantity::{AreaResistance, Conductivity, CurrentDensity, Potential};
use solver::{Drive, Kinetics, Law, Role};

use super::*;
use crate::bath::End;
use crate::diagnostic::{Diagnostic, Source};

mod damage;
mod meaning;
mod sequences;

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
        .replace("name = \"left\"", "name = \"left\"\nfile = { name = \"x.dxf\" }");
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
