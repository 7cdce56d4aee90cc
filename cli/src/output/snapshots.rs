//! Tables, summary and verdict as text: a reviewer reads the difference.
//!
//! All answers here are closed forms made by hand (see `mock`), so no snapshot depends on the
//! solver. `INSTA_UPDATE=always cargo test -p throwmap` writes them anew.

use shapes::{Point, Vec2};
use solver::Role;
use solver::quantity::{CurrentDensity, Length};

use super::mock::{Mock, body, channel, concentric, plate, rect};
use super::*;

fn sources() -> Vec<SourcedValue> {
    vec![
        SourcedValue {
            name: "conductivity".into(),
            value: Value::Number(10.0),
            unit: "S/m".into(),
            range: None,
            source: "job file".into(),
            confidence: Confidence::Given,
        },
        SourcedValue {
            name: "anode polarization".into(),
            value: Value::Text("linear, 2e-5 ohm m2".into()),
            unit: String::new(),
            range: None,
            source: "common practice, no source".into(),
            confidence: Confidence::Low,
        },
    ]
}

fn files() -> Vec<String> {
    ["map.png", "deposit.png", "surface.csv", "field.csv", "summary.json"].map(String::from).into()
}

/// Ten bars with a density of 100 … 190 A/m² on their upper faces, over a wide anode.
fn rack() -> Mock {
    let mut mock = channel(0.5, 0.2, 100.0);
    let plate = mock.solution.bodies[1].clone();
    mock.layout.bodies.truncate(1);
    mock.solution.bodies.truncate(1);
    let bars = rect(0.25, 0.05, 0.01, 0.01).repeated(10, Vec2::new(0.02, 0.0));
    for (k, outline) in bars.into_iter().enumerate() {
        let mut result = plate.clone();
        let density = 100.0 + 10.0 * k as f64;
        let place = Point::new(0.25 + 0.02 * k as f64, 0.05);
        result.name = format!("bar {}", k + 1);
        for stretch in &mut result.stretches {
            stretch.current_density_a_m2 = density;
            stretch.at = place;
        }
        let d = &mut result.density;
        (d.mean, d.min, d.max) = (density, density, density);
        (d.min_at, d.max_at) = (place, place);
        mock.layout.bodies.push(body(&result.name, Role::Part, outline));
        mock.solution.bodies.push(result);
    }
    mock.title = "Ten bars".into();
    mock
}

#[test]
fn surface_table() {
    let mock = plate(channel(0.5, 0.2, 400.0), 20.0);
    let marks = vec![vec![true; 8], vec![false; 8]];
    let context = Context { significant: Some(&marks), ..mock.context() };
    insta::assert_snapshot!(String::from_utf8(surface_csv(&context).unwrap()).unwrap());
}

/// The densities of the table times their areas are the current of the summary, to rounding.
#[test]
fn surface_table_adds_up_to_the_current() {
    let mock = concentric(0.02, 0.1, 90.0);
    let bytes = surface_csv(&mock.context()).unwrap();
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    assert_eq!(reader.headers().unwrap().iter().collect::<Vec<_>>(), surface_csv::HEADER);
    let mut current = 0.0;
    for row in reader.records() {
        let row = row.unwrap();
        let number = |k: usize| row[k].parse::<f64>().unwrap();
        if &row[0] == "rod" {
            current += number(3) * 1e-6 * number(10);
        }
    }
    // 90 A/m over a depth of 0.3 m
    assert!((current - 27.0).abs() < 1e-12, "{current} A");
}

#[test]
fn field_table() {
    let mock = channel(0.51, 0.2, 400.0);
    let text = String::from_utf8(field_csv(&mock.context()).unwrap()).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    // 0.102 m² in 5 mm steps: 41 rows of y, x from 30 to 480 mm between plates at 25.5 and 484.5
    assert_eq!(lines.len(), 1 + 41 * 91);
    insta::assert_snapshot!(lines[..6].join("\n"));
}

#[test]
fn summary() {
    let mock = plate(channel(0.5, 0.2, 400.0), 20.0);
    let sources = sources();
    let context = Context {
        sources: &sources,
        want: Want { min_thickness: Some(Length::um(20.0)), max_thickness: Some(Length::um(45.0)) },
        window: Window {
            min: Some(CurrentDensity::a_dm2(1.0)),
            max: Some(CurrentDensity::a_dm2(3.0)),
        },
        ..mock.context()
    };
    insta::assert_snapshot!(summary_json(&context).unwrap());
}

/// 400 A/m² for 20 min of nickel at 95 % efficiency:
/// 400 · 0.95 · 1200 s · 0.058693 kg/mol / (2 · 96485.33 C/mol · 8908 kg/m³) = 15.57 µm,
/// so 20 µm take 20 min · 20 / 15.57 = 25.7 min.
#[test]
fn verdict_of_one_part_that_misses() {
    let mock = plate(channel(0.5, 0.2, 400.0), 20.0);
    let sources = sources();
    let context = Context {
        sources: &sources,
        want: Want { min_thickness: Some(Length::um(20.0)), max_thickness: Some(Length::um(45.0)) },
        window: Window {
            min: Some(CurrentDensity::a_dm2(1.0)),
            max: Some(CurrentDensity::a_dm2(3.0)),
        },
        ..mock.context()
    };
    let judgement = judge(&context);
    assert_eq!(judgement.min_thickness_met, Some(false));
    assert_eq!(judgement.max_thickness_met, Some(true));
    assert!(!judgement.meets_specification());
    let minutes = judgement.seconds_to_min_thickness.unwrap() / 60.0;
    assert!((minutes - 20.0 * 20.0 / 15.57).abs() < 0.02, "{minutes} min");
    assert_eq!(judgement.share_above_window, Some(1.0));
    assert_eq!(judgement.share_below_window, Some(0.0));
    insta::assert_snapshot!(verdict(&context, &files()).join("\n"));
}

#[test]
fn verdict_in_us_units_that_meets_within_the_uncertainty() {
    let mock = plate(channel(0.5, 0.2, 400.0), 20.0);
    let want = Want { min_thickness: Some(Length::um(15.56)), max_thickness: None };
    let context = Context { units: DisplayUnits::Us, want, ..mock.context() };
    insta::assert_snapshot!(verdict(&context, &[]).join("\n"));
}

#[test]
fn verdict_of_an_uneven_part() {
    let mut mock = channel(0.5, 0.2, 400.0);
    let stretches = &mut mock.solution.bodies[1].stretches;
    // 100, 200 … 800 A/m² along the plate
    for (k, stretch) in stretches.iter_mut().enumerate() {
        stretch.current_density_a_m2 = 100.0 * (k + 1) as f64;
        stretch.uncertainty_a_m2 = 2.0;
    }
    let d = &mut mock.solution.bodies[1].density;
    (d.mean, d.min, d.max) = (450.0, 100.0, 800.0);
    let mock = plate(mock, 20.0);
    let window =
        Window { min: Some(CurrentDensity::new(150.0)), max: Some(CurrentDensity::new(650.0)) };
    let want =
        Want { min_thickness: Some(Length::um(10.0)), max_thickness: Some(Length::um(30.0)) };
    let context = Context { window, want, ..mock.context() };
    insta::assert_snapshot!(verdict(&context, &[]).join("\n"));
}

#[test]
fn verdict_of_a_rack_without_a_run() {
    let mock = rack();
    let window = Window { min: Some(CurrentDensity::new(135.0)), max: None };
    let context = Context { window, ..mock.context() };
    // four of ten bars (100 … 130) lie below
    let share = judge(&context).share_below_window.unwrap();
    assert!((share - 0.4).abs() < 1e-12, "{share}");
    insta::assert_snapshot!(verdict(&context, &[]).join("\n"));
}

/// A part that gets nothing at its thinnest point has no time to reach the wanted thickness.
#[test]
fn a_bare_spot_is_named_and_never_divides_by_zero() {
    let mut mock = plate(channel(0.5, 0.2, 400.0), 20.0);
    if let Some((_, deposit)) = &mut mock.deposit {
        for body in &mut deposit.bodies {
            body.thickness_m[0] = 0.0;
            body.thickness.min = 0.0;
        }
    }
    let want = Want { min_thickness: Some(Length::um(20.0)), max_thickness: None };
    let context = Context { want, ..mock.context() };
    assert_eq!(judge(&context).seconds_to_min_thickness, None);
    let text = verdict(&context, &[]).join("\n");
    assert!(text.contains("no time is long enough"), "{text}");
    assert!(summary_json(&context).unwrap().contains("\"seconds_to_min_thickness\": null"));
}

#[test]
fn same_job_same_bytes() {
    let mock = plate(concentric(0.02, 0.1, 90.0), 20.0);
    let all = || {
        let c = mock.context();
        (
            map_png(&c).unwrap(),
            deposit_png(&c).unwrap(),
            surface_csv(&c).unwrap(),
            field_csv(&c).unwrap(),
            summary_json(&c).unwrap(),
        )
    };
    assert!(all() == all());
}
