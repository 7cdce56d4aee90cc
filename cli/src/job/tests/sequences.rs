//! Sequences of several baths.
use super::*;

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
