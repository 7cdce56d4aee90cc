//! Spots, positions, thick deposits and leaning values on made-up answers.

use solver::quantity::CurrentDensity;
use solver::{Feature, FeatureKind, Figures, Leaning, Placement, Sensitivity};

use super::findings::{Findings, PositionResult};
use super::mock::{Mock, channel, plate};
use super::*;
use crate::job::BathFacts;

/// 100, 200 … 800 A/m² along the plate.
fn uneven() -> Mock {
    let mut mock = channel(0.5, 0.2, 400.0);
    for (k, stretch) in mock.solution.bodies[1].stretches.iter_mut().enumerate() {
        stretch.current_density_a_m2 = 100.0 * (k + 1) as f64;
    }
    plate(mock, 20.0)
}

fn window() -> Window {
    Window { min: Some(CurrentDensity::new(250.0)), max: Some(CurrentDensity::new(650.0)) }
}

fn bare_below(a_m2: f64) -> Findings {
    let bath = BathFacts { threshold: Some(CurrentDensity::new(a_m2)), ..BathFacts::default() };
    Findings { bath, ..Findings::default() }
}

/// Below 150 bare (100), below 250 low (200), above 650 burning (700, 800).
#[test]
fn every_stretch_says_how_it_is_plated() {
    let mock = uneven();
    let findings = bare_below(150.0);
    let context = Context { window: window(), findings: &findings, ..mock.context() };
    let words: Vec<&str> = (0..8).map(|row| context.spot(1, row).word()).collect();
    assert_eq!(words, ["bare", "low", "", "", "", "", "burning", "burning"]);
    assert_eq!(context.spot(0, 0), Spot::Good, "anodes are not plated");
    let bytes = surface_csv(&context).unwrap();
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let column = reader.headers().unwrap().iter().position(|h| h == "spot").unwrap();
    let in_file: Vec<String> = reader
        .records()
        .map(|row| row.unwrap())
        .filter(|row| &row[0] == "plate")
        .map(|row| row[column].to_owned())
        .collect();
    assert_eq!(in_file, words);
    let judgement = judge(&context);
    assert_eq!(judgement.share_bare, Some(0.125));
    assert_eq!(judgement.share_below_window, Some(0.25));
    assert_eq!(judgement.share_above_window, Some(0.25));
    let places = context.spot_places();
    assert_eq!(places.len(), 3);
    assert_eq!((places[0].spot, places[0].worst_a_m2), (Spot::Bare, 100.0));
    assert_eq!((places[2].spot, places[2].worst_a_m2), (Spot::Burning, 800.0));
    let text = verdict(&context, &[]).join("\n");
    assert!(
        text.contains("Bare, below the bath's covering threshold: 12 % of the surface"),
        "{text}"
    );
    assert!(text.contains("Burning: 25 % of the surface of plate"), "{text}");
}

/// A place is covered if one position covers it, and burns if one burns it.
#[test]
fn the_greatest_density_of_all_positions_decides() {
    let mock = uneven();
    let mut findings = bare_below(150.0);
    findings.peaks = vec![vec![], vec![300.0; 8]];
    let context = Context { window: window(), findings: &findings, ..mock.context() };
    assert!((0..8).all(|row| context.spot(1, row) == Spot::Good));
    assert_eq!(judge(&context).share_bare, Some(0.0));
}

/// Both marks are in the picture, with their words, and only where there is something to mark.
#[test]
fn bare_and_burning_places_are_drawn_and_explained() {
    let mock = uneven();
    let findings = bare_below(150.0);
    let context = Context { window: window(), findings: &findings, ..mock.context() };
    for (drawing, name) in
        [(map::draw(&context).0, "map"), (deposit_picture::deposit_drawing(&context), "deposit")]
    {
        let texts: Vec<&str> = drawing.texts().iter().map(|t| t.text.as_str()).collect();
        let told = |start: &str| texts.iter().any(|t| t.starts_with(start));
        assert!(told("burning: above") && told("bare: below"), "{name}: {texts:?}");
        assert!(drawing.svg().unwrap().contains("#d81b60"), "{name}");
    }
    let even = plate(channel(0.5, 0.2, 400.0), 20.0);
    let context = Context { window: window(), findings: &findings, ..even.context() };
    assert!(!map::draw(&context).0.svg().unwrap().contains("#d81b60"));
}

/// 15.57 µm on a wall of 0.25 mm is 6.2 % of it, on one of 1 mm 1.6 %.
#[test]
fn a_thick_deposit_is_warned_of_with_what_it_is_thick_against() {
    let mock = plate(channel(0.5, 0.2, 400.0), 20.0);
    let with = |size_m: f64| {
        let feature =
            Feature { kind: FeatureKind::Gap(0), size_m, at: shapes::Point::new(0.475, 0.1) };
        let findings = Findings { features: vec![(1, feature)], ..Findings::default() };
        let context = Context { findings: &findings, ..mock.context() };
        (verdict(&context, &[]).join("\n"), summary_json(&context).unwrap())
    };
    let (text, json) = with(0.25e-3);
    assert!(
        text.contains(
            "The deposit on plate grows to 6.2 % of a gap of 0.25 mm to left at x 475 mm, y 100 mm"
        ),
        "{text}"
    );
    assert!(json.contains("\"deposit_is_thin\": false"), "{json}");
    let (text, json) = with(1e-3);
    assert!(!text.contains("no longer thin") && json.contains("\"deposit_is_thin\": true"));
}

#[test]
fn leaning_values_and_positions_in_words() {
    let mock = plate(channel(0.5, 0.2, 400.0), 20.0);
    let base = Figures {
        voltage_v: 5.0,
        current_a: 24.0,
        least_m: Some(10e-6),
        greatest_m: None,
        seconds_to_want: Some(1200.0),
    };
    let leaning = |name: &str, low: Figures, high: Figures, voltage_only: bool| Leaning {
        name: name.into(),
        low: Some(low),
        high: Some(high),
        voltage_only,
    };
    let moved = |share: f64, volts: f64| Figures {
        voltage_v: volts,
        least_m: base.least_m.map(|t| t * share),
        seconds_to_want: base.seconds_to_want.map(|t| t / share),
        ..base
    };
    let lost = Leaning { low: None, ..leaning("bath.cathode.slope", base, moved(1.1, 5.0), false) };
    let found = Sensitivity {
        base,
        leanings: vec![
            leaning("bath.conductivity", moved(0.8, 6.5), moved(1.15, 4.0), false),
            leaning("bath.cathode.exchange", moved(1.0, 5.2), moved(1.0, 4.8), true),
            leaning("bath.anode.resistance", moved(1.0, 5.001), moved(1.0, 4.999), false),
            lost,
        ],
    };
    // a bare place has no share of itself: micrometres are told instead
    let nothing = Figures { least_m: Some(0.0), seconds_to_want: None, ..base };
    let covered = Figures { least_m: Some(4e-6), ..nothing };
    let bare = Sensitivity {
        base: nothing,
        leanings: vec![leaning("bath.threshold", covered, nothing, false)],
    };
    let findings = Findings { leaning: Some(bare), ..Findings::default() };
    let text = verdict(&Context { findings: &findings, ..mock.context() }, &[]).join("\n");
    assert!(text.contains("thinnest 4.00 µm to 0 µm (bare at the value taken)"), "{text}");
    let place = |turn_deg: f64| Placement {
        turn_deg,
        about: shapes::Point::ZERO,
        shift: shapes::Vec2::ZERO,
        share: 0.5,
    };
    let mut other = mock.solution.supplies.clone();
    other[0].voltage_v += 0.2;
    let positions = vec![
        PositionResult { place: place(0.0), supplies: mock.solution.supplies.clone() },
        PositionResult { place: place(180.0), supplies: other },
    ];
    let findings = Findings { leaning: Some(found), positions, ..Findings::default() };
    let sources = [SourcedValue {
        name: "bath.conductivity".into(),
        value: Value::Text("12 S/m".into()),
        unit: String::new(),
        range: Some(["8 S/m".into(), "18 S/m".into()]),
        source: "from memory".into(),
        confidence: Confidence::Low,
    }];
    let context = Context { findings: &findings, sources: &sources, ..mock.context() };
    insta::assert_snapshot!(verdict(&context, &[]).join("\n"));
}
