use std::path::{Path, PathBuf};

use solver::plan::{Model, Scale, Values};
use toml_edit::{DocumentMut, Item};

use super::*;
use crate::job::load;

const JOB: &str = r#"
title = "Two plates"      # kept
unit = "mm"
tank = { size = [400, 200], depth = 100 }

[bath]
use = "watts-nickel"
conductivity = "8 S/m"    # measured

# the work
[[part]]
name = "bell"
polygon = [[300, 60], [320, 60], [320, 140], [300, 140]]

[[anode]]
name = "left"
rect = { at = [30, 100], size = [20, 120] }   # the old one
[[anode]]
name = "left 2.5"
disc = { at = [90, 30], radius = 8 }
turn = 10
repeat = { count = 2, step = [0, 140] }

[supply]
current = "3 A"           # as read off
[run]
time = "20 min"
[want]
min_thickness = "5 um"
"#;

fn source() -> Source {
    Source { name: "job.toml".into(), text: JOB.into() }
}

fn varied(texts: &[&str]) -> Result<Varied, Vec<Diagnostic>> {
    let source = source();
    let job = resolve(&source).expect("a good job");
    let texts: Vec<String> = texts.iter().map(|t| (*t).to_owned()).collect();
    Varied::new(&source, &job, &texts)
}

fn one(text: &str) -> Varied {
    varied(&[text]).unwrap_or_else(|faults| panic!("{text}: {faults:?}"))
}

/// The lines that differ from the job as it stands.
fn changed(text: &str) -> String {
    let lines = text.lines().filter(|line| !JOB.lines().any(|old| old == *line));
    lines.collect::<Vec<_>>().join("\n")
}

fn examples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let files = std::fs::read_dir(folder).expect("the examples").flatten().map(|f| f.path());
    let mut files: Vec<PathBuf> =
        files.filter(|f| f.extension().is_some_and(|e| e == "toml")).collect();
    files.sort();
    files
}

/// What a value changes in the file, comments kept.
#[test]
fn values_are_set_where_they_stand() {
    // name, values, value, changed lines
    let cases = [
        ("anode.left.move.x=10..20/3", 15.0, "move = [15, 0]"),
        ("anode.left.move.y=1..2in/3", 1.5, "move = [0, 38.1]"),
        (
            "anode.1.rect.size.y=1..2/3",
            90.0,
            "rect = { at = [30, 100], size = [20, 90] }   # the old one",
        ),
        (
            "anode.left.rect.at.x=1..2cm/3",
            4.5,
            "rect = { at = [45, 100], size = [20, 120] }   # the old one",
        ),
        (
            "anode.left.rect.corner=1..2/3",
            2.0,
            "rect = { at = [30, 100], size = [20, 120], corner = 2 }   # the old one",
        ),
        ("anode.\"left 2.5\".turn=0,90", 90.0, "turn = 90"),
        ("anode.2.repeat.count=1,2", 1.0, "repeat = { count = 1, step = [0, 140] }"),
        (
            "part.polygon.2.x=310..330/3",
            325.0,
            "polygon = [[300, 60], [325, 60], [320, 140], [300, 140]]",
        ),
        ("part.bell.turn=-10..10deg/5", 5.0, "turn = 5"),
        ("supply.current=2..4A/3", 0.1 + 0.2, "current = \"0.3 A\"           # as read off"),
        ("supply.voltage=2..4V/3", 4.0, "voltage = \"4 V\""),
        ("supply.limit.voltage=2..4V/3", 4.0, "limit = { voltage = \"4 V\" }"),
        ("bath.conductivity=50..120mS/cm/3", 90.0, "conductivity = \"90 mS/cm\"    # measured"),
        ("bath.temperature=40,50,55degC", 40.0, "temperature = \"40 degC\""),
        ("bath.cathode.limiting=4..8A/dm2/3", 8.0, "cathode = { limiting = \"8 A/dm2\" }"),
        ("bath.window.max=4..8A/dm2/3", 8.0, "window = { max = \"8 A/dm2\" }"),
        ("bath.use=watts-nickel,nickel-sulfamate", 0.0, ""),
        ("bath.use=watts-nickel,nickel-sulfamate", 1.0, "use = \"nickel-sulfamate\""),
        ("run.ampere_hours=1..2Ah/3", 1.5, "ampere_hours = \"1.5 Ah\""),
        ("want.min_thickness=4..8um:2", 6.0, "min_thickness = \"6 um\""),
        ("solve.accuracy=1,2,5%", 2.0, "[solve]\naccuracy = \"2 %\""),
        ("tank.depth=50..100/3", 75.0, "tank = { size = [400, 200], depth = 75 }"),
        ("tank.depth=5..10cm/3", 7.5, "tank = { size = [400, 200], depth = \"7.5 cm\" }"),
        ("part.mirror=x,y", 1.0, "mirror = \"y\""),
    ];
    for (text, value, expected) in cases {
        let varied = one(text);
        let source = varied.at(&[value]);
        assert_eq!(changed(&source.text), expected, "{text}");
        assert!(source.text.contains("# the work"));
        if let Err(faults) = resolve(&source) {
            panic!("{text}: {faults:?}");
        }
        let [varying] = varied.varying.as_slice() else { panic!("one variable") };
        let again =
            Varying::read(text, &source.text.parse().expect("TOML"), DRAWING).expect("read");
        assert_eq!(again.stated, Some(tidy(value)), "{text}: {varying:?}");
    }
    // keys of which one may stand take each other's place
    assert!(!one("supply.voltage=2..4V/3").at(&[4.0]).text.contains("current ="));
    assert!(!one("run.ampere_hours=1..2Ah/3").at(&[1.0]).text.contains("time ="));
    // another bath brings its own values, and what is varied of it still holds
    assert!(!one("bath.use=nickel-sulfamate").at(&[0.0]).text.contains("8 S/m"));
    let both = varied(&["bath.conductivity=5..7S/m/3", "bath.use=nickel-sulfamate"]);
    assert!(both.expect("two").at(&[6.0, 0.0]).text.contains("conductivity = \"6 S/m\""));
}

const DRAWING: crate::job::DrawingUnit = crate::job::DrawingUnit { name: "mm", metres: 1e-3 };

#[test]
fn ranges_and_lists_are_read() {
    let between = |low, high, scale, step| Values::Between { low, high, scale, step };
    let cases = [
        ("supply.current=20..60A/5", between(20.0, 60.0, Scale::Linear, None), "A", Some(5)),
        (
            "supply.current = 20 A .. 60 A / 5",
            between(20.0, 60.0, Scale::Linear, None),
            "A",
            Some(5),
        ),
        (
            "supply.current=1..100A/3log",
            between(1.0, 100.0, Scale::Logarithmic, None),
            "A",
            Some(3),
        ),
        ("supply.current_density=2..6A/dm2", between(2.0, 6.0, Scale::Linear, None), "A/dm2", None),
        (
            "supply.current_density=2..6A/dm2/9",
            between(2.0, 6.0, Scale::Linear, None),
            "A/dm2",
            Some(9),
        ),
        (
            "anode.left.move.x=-.5e1..+5:2",
            between(-5.0, 5.0, Scale::Linear, Some(2.0)),
            "",
            Some(5),
        ),
        ("supply.current=60,20 A,40A", Values::Listed(vec![20.0, 40.0, 60.0]), "A", None),
        ("part.turn=0,90,180", Values::Listed(vec![0.0, 90.0, 180.0]), "", None),
        ("part.turn=45deg", Values::Listed(vec![45.0]), "", None),
        ("bath.metal=Ni, 'Sn(II)'", Values::Choice(2), "", None),
    ];
    for (text, values, unit, count) in cases {
        let varied = one(text);
        let v = &varied.varying[0];
        assert_eq!(
            (&v.variable.values, v.unit.as_str(), v.count),
            (&values, unit, count),
            "{text}"
        );
    }
    let grid = |text: &str| grid(&one(text).varying[0]);
    assert_eq!(grid("supply.current=0.1..0.5A/5"), Some(vec![0.1, 0.2, 0.3, 0.4, 0.5]));
    assert_eq!(grid("supply.current=1..100A/3log"), Some(vec![1.0, 10.0, 100.0]));
    assert_eq!(grid("anode.left.move.x=-5..5:2"), Some(vec![-4.0, -2.0, 0.0, 2.0, 4.0]));
    assert_eq!(grid("supply.current=1..3A"), None);
    assert_eq!(one("supply.current=1..3A").varying[0].stated, Some(3.0));
    assert_eq!(one("supply.current=1..3mA").varying[0].stated, Some(3000.0));
    assert_eq!(one("anode.left.rect.at.x=1..3cm").varying[0].stated, Some(3.0));
    let words = one("supply.current=1..3A").words(&[0.1 + 0.2]);
    assert_eq!(words, "supply.current = 0.3 A");
    assert_eq!(one("anode.left.move.x=1..3").words(&[2.0]), "anode.left.move.x = 2 mm");
}

/// Every fault names the place in what was typed, what is there instead, and the way out.
#[test]
fn faults_name_the_place_and_the_way_out() {
    let cases = [
        "anode.left.move.x",
        "=3..4",
        "anode..move.x=1..2/3",
        "anode.\"left.move.x=1..2/3",
        "anode \"left\".move.x=1..2/3",
        "anod.left.move.x=1..2/3",
        "anode.lefft.move.x=1..2/3",
        "anode.move.x=1..2/3",
        "anode.3.move.x=1..2/3",
        "anode=1..2/3",
        "anode.\"left 2.5-1\".move.x=1..2/3",
        "anode.left.mov.x=1..2/3",
        "anode.left.move=1..2/3",
        "anode.left.move.z=1..2/3",
        "anode.left.move.x.y=1..2/3",
        "anode.left.disc.radius=1..2/3",
        "anode.left.name=a,b",
        "part.bell=1..2/3",
        "part.bel.turn=1,2",
        "part.polygon.7.x=1..2/3",
        "shield.rim.move.x=1..2/3",
        "thief.offset=1..2mV/3",
        "unit=mm,in",
        "supply.current=20..60/5",
        "supply.current=20..60V/5",
        "supply.current=20..60amp/5",
        "supply.current=20mA..60A/5",
        "supply.current=60..20A/5",
        "supply.current=20..60A/1",
        "supply.current=20..60A:0",
        "supply.current=20..22A:50",
        "supply.current=0..60A/5log",
        "supply.current=..60A/5",
        "supply.current=",
        "anode.left.move.x=1..2V/3",
        "part.turn=1..2mm/3",
        "anode.2.repeat.count=1..3mm",
        "bath.use=watts-nickel,bright-nickle",
        "bath.use=watts-nickel,,",
        "bath.use=watts-nickel,watts-nickel",
        "part.bell.follow.hole=true,maybe",
    ];
    let mut said = String::new();
    for text in cases {
        let faults = varied(&[text]).expect_err(text);
        for fault in faults {
            said += &format!("{}\n\n", fault.render(&source(), false));
        }
    }
    let twice = varied(&["anode.left.move.x=1..2/3", "anode.1.move.1=3..4/2"]).expect_err("twice");
    said += &twice[0].render(&source(), false);
    insta::assert_snapshot!(said);
    let layers = Source { name: "job.toml".into(), text: "[[layer]]\nname = \"a\"".into() };
    let doc: DocumentMut = layers.text.parse().expect("TOML");
    let refused = Varying::read("run.time=1..2min/2", &doc, DRAWING).expect_err("layers");
    assert!(refused.message.contains("layers"), "{}", refused.message);
}

/// Walks the file and names every value in it.
fn names(item: &Item, name: &str, out: &mut Vec<(String, f64)>) {
    let below = |word: &str| match name {
        "" => word.to_owned(),
        name if word.contains(['.', ' ', '"']) => format!("{name}.'{word}'"),
        name => format!("{name}.{word}"),
    };
    let mut list = |items: Vec<&Item>| {
        for (k, inner) in items.into_iter().enumerate() {
            let called =
                inner.get("name").and_then(Item::as_str).filter(|_| !name.contains("file"));
            names(inner, &below(called.unwrap_or(&(k + 1).to_string())), out);
        }
    };
    match item {
        Item::ArrayOfTables(tables) => list((0..tables.len()).map(|k| &item[k]).collect()),
        item if item.is_array() => {
            list((0..item.as_array().map_or(0, toml_edit::Array::len)).map(|k| &item[k]).collect());
        }
        item => {
            if let Some(table) = item.as_table_like() {
                for (key, inner) in table.iter() {
                    names(inner, &below(key), out);
                }
            } else if let Some(number) = item.as_value().and_then(crate::document::plain) {
                out.push((name.to_owned(), number));
            }
        }
    }
}

/// Every plain number of every example can be named, read, and set to what it is without a change.
#[test]
fn every_number_of_every_example_can_be_varied() {
    let mut count = 0;
    for path in examples() {
        let source = load(&path.to_string_lossy()).expect("an example");
        let Ok(job) = resolve(&source) else {
            // layers
            assert!(source.text.contains("[[layer]]"), "{}", source.name);
            continue;
        };
        let doc: DocumentMut = source.text.parse().expect("TOML");
        let mut all = Vec::new();
        names(doc.as_item(), "", &mut all);
        assert!(all.len() >= 4, "{}: {all:?}", source.name);
        for (name, number) in all {
            let other_value = tidy(number + 1.0);
            let text = format!("{name}={other_value}");
            let varied = Varied::new(&source, &job, &[text]);
            let varied =
                varied.unwrap_or_else(|faults| panic!("{}: {name}: {faults:?}", source.name));
            assert_eq!(varied.varying[0].stated, Some(number), "{name}");
            // whole numbers that were written with a point lose it
            let back: DocumentMut = varied.at(&[number]).text.parse().expect("TOML");
            let (mut read, mut other) = (Vec::new(), Vec::new());
            names(back.as_item(), "", &mut read);
            names(doc.as_item(), "", &mut other);
            assert_eq!(read, other, "{name}");
            let moved: DocumentMut = varied.at(&[other_value]).text.parse().expect("TOML");
            let mut read = Vec::new();
            names(moved.as_item(), "", &mut read);
            let differ: Vec<_> = read.iter().zip(&other).filter(|(a, b)| a != b).collect();
            assert_eq!(differ, [(&(name.clone(), other_value), &(name, number))]);
            count += 1;
        }
    }
    assert!(count > 150, "{count}");
}

/// Every quantity of every example, too: at its own value the job resolves to the same layout.
#[test]
fn every_quantity_of_every_example_can_be_varied() {
    fn quantities(item: &Item, name: &str, out: &mut Vec<(String, String)>) {
        let Some(table) = item.as_table_like() else { return };
        for (key, inner) in table.iter() {
            let name = if name.is_empty() { key.to_owned() } else { format!("{name}.{key}") };
            match inner.as_str() {
                Some(text) if text.starts_with(|c: char| c.is_ascii_digit()) => {
                    out.push((name, text.to_owned()));
                }
                _ => quantities(inner, &name, out),
            }
        }
    }
    let mut count = 0;
    for path in examples() {
        let source = load(&path.to_string_lossy()).expect("an example");
        let Ok(job) = resolve(&source) else { continue };
        let doc: DocumentMut = source.text.parse().expect("TOML");
        let mut all = Vec::new();
        quantities(doc.as_item(), "", &mut all);
        for (name, written) in all {
            let varied = Varied::new(&source, &job, &[format!("{name}={written}")]);
            let varied =
                varied.unwrap_or_else(|faults| panic!("{}: {name}: {faults:?}", source.name));
            let stated = varied.varying[0].stated.expect("stated");
            assert_eq!(varied.at(&[stated]).text, source.text, "{name}");
            count += 1;
        }
    }
    assert!(count > 40, "{count}");
}

#[test]
fn the_same_obstacle_reads_the_same() {
    let varied = one("anode.left.move.x=250..295/5");
    let reason = |x: f64| varied.task(&[x]).expect_err("overlaps").reason;
    assert_eq!(reason(270.0), reason(275.5));
    assert_eq!(reason(270.0), "\"bell\" and \"left\" overlap");
    let outside = one("anode.left.move.x=500..900").task(&[700.0]).expect_err("outside");
    assert_eq!(outside.reason, "\"left\" lies outside the tank");
    assert!(varied.task(&[100.0]).is_ok());
}

/// A job file written elsewhere names the same drawing and the same bath file.
#[test]
fn job_files_elsewhere_find_their_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = folder.path().join("shop");
    std::fs::create_dir(&shop).expect("made");
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='100mm' viewBox='0 0 100 100'><path id='p' d='M0 0 H20 V80 H0 Z'/></svg>";
    std::fs::write(shop.join("plate.svg"), svg).expect("written");
    let baths = "[mine]\nbased_on = \"watts-nickel\"\nconductivity = \"7.5 S/m\"\n";
    std::fs::write(shop.join("baths.toml"), baths).expect("written");
    let text = JOB
        .replace(
            "polygon = [[300, 60], [320, 60], [320, 140], [300, 140]]",
            "file = { name = \"plate.svg\" }\nmove = [300, 60]",
        )
        .replace("watts-nickel\"\nconductivity = \"8 S/m\"    # measured", "mine\"");
    let name = shop.join("job.toml").to_string_lossy().into_owned();
    std::fs::write(&name, &text).expect("written");
    let source = load(&name).expect("a job");
    let job = resolve(&source).unwrap_or_else(|f| panic!("{f:?}"));
    let varied =
        Varied::new(&source, &job, &["supply.current=1..2A/2".into()]).expect("a variable");
    for to in [shop.clone(), folder.path().join("out"), shop.join("a/b"), folder.path().to_owned()]
    {
        std::fs::create_dir_all(&to).expect("made");
        let text = varied.job_text(&[2.0], &to);
        let written = Source { name: to.join("x.toml").to_string_lossy().into_owned(), text };
        let read = resolve(&written).unwrap_or_else(|f| panic!("{f:?}\n{}", written.text));
        let drawn = |job: &Resolved| format!("{:?}", job.layout.bodies);
        assert_eq!(drawn(&read), drawn(&job));
        assert_eq!(read.layout.conductivity, job.layout.conductivity);
        assert_eq!(read.title, "Two plates: supply.current = 2 A");
        assert!(written.text.contains("# kept") && written.text.contains("2 A"));
        let near = to == shop;
        assert_eq!(written.text.contains("baths.toml"), !near);
    }
}
