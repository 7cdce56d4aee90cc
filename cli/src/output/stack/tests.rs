use shapes::Rect;
use solver::quantity::Length;
use solver::{Coat, Role};

use super::*;
use crate::output::mock::{Mock, body, plate, rect, solved};

/// A bar with a notch between two anodes, plated twice: as it hangs, and turned.
fn layers() -> [Mock; 2] {
    let bar = Outline::path("M0 0H40V30H26V12H14V30H0Z").expect("a bar").scaled(1e-3);
    let tank = || rect(0.1, 0.075, 0.2, 0.15);
    let anodes = || {
        vec![
            body("left", Role::Anode, rect(0.01, 0.075, 0.01, 0.1)),
            body("right", Role::Anode, rect(0.19, 0.075, 0.01, 0.1)),
        ]
    };
    let hung = bar.moved(shapes::Vec2::new(0.08, 0.06));
    [0.0, 90.0].map(|turn| {
        let mut bodies = anodes();
        bodies.insert(0, body("bar", Role::Part, hung.turned(turn)));
        plate(solved("Bar", tank(), bodies, 300.0), 20.0)
    })
}

fn demand(layers: Vec<usize>, limit: Limit) -> Demand {
    Demand { what: "nickel".into(), layers, limit, from: "[want]".into() }
}

/// Calls `look` with both layers on the bar and these demands.
fn with_stack(demands: &[Demand], look: impl Fn(&StackContext)) {
    let mocks = layers();
    let runs: Vec<LayerRun> = mocks
        .iter()
        .zip([("first", "1-first"), ("second", "2-second")])
        .map(|(mock, (name, file_name))| LayerRun {
            name,
            file_name,
            symbol: "Ni",
            context: mock.context(),
        })
        .collect();
    let coats: Vec<Coat> = mocks
        .iter()
        .map(|mock| Coat {
            outline: &mock.layout.bodies[0].outline,
            result: &mock.solution.bodies[0],
            deposit: mock.deposit.as_ref().and_then(|(_, d)| d.of_body(0)).expect("plated"),
            significant: None,
        })
        .collect();
    let stack = solver::stack(&coats).expect("the same bar");
    let outline = &mocks[0].layout.bodies[0].outline;
    let parts = [PartStack { name: "bar", outline, stack }];
    look(&StackContext {
        title: "Bar in two baths",
        layers: &runs,
        parts: &parts,
        demands,
        units: DisplayUnits::Metric,
    });
}

#[test]
fn demands_are_met_or_missed_by_the_layers_they_name() {
    let um = |um: f64| Limit::Least(Length::um(um));
    let demands = [
        demand(vec![0], um(0.1)),
        demand(vec![0], um(500.0)),
        demand(vec![0, 1], Limit::Most(Length::um(500.0))),
        demand(vec![0, 1], Limit::LowestShare(0.01)),
        demand(vec![0, 1], Limit::LowestShare(0.99)),
    ];
    with_stack(&demands, |context| {
        let found = judge_stack(context);
        let met: Vec<bool> = found.iter().map(Standing::met).collect();
        assert_eq!(met, [true, false, true, true, false]);
        // time grows with what is missing
        let (_, worst) = found[1].worst().expect("a part");
        let factor = found[1].time_factor().expect("metal everywhere");
        assert!((factor * worst.value - 500e-6).abs() < 1e-15);
        assert_eq!(worst.value, context.parts[0].stack.layers[0].thickness.min);
    });
}

#[test]
fn the_table_adds_up_and_the_summary_keeps_the_metal() {
    with_stack(&[], |context| {
        let bytes = stack_csv(context).expect("a table");
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let header: Vec<String> =
            reader.headers().expect("a header").iter().map(Into::into).collect();
        assert_eq!(
            header[7..10],
            ["thickness_1-first_um", "thickness_2-second_um", "thickness_total_um"]
        );
        let mut volume = 0.0;
        for row in reader.records() {
            let row = row.expect("a row");
            let number = |k: usize| row[k].parse::<f64>().expect("a number");
            let sum = number(7) + number(8);
            assert!((number(9) - sum).abs() <= 1e-9 * sum);
            volume += number(9) * number(2);
        }
        // mm · µm · 300 mm of depth, in m³, times 8.908 g/cm³ of nickel (CRC Handbook)
        let grams = volume * 1e-9 * 0.3 * 8.908e6;
        let json: serde_json::Value =
            serde_json::from_str(&stack_json(context).expect("a summary")).expect("JSON");
        let total = json["total"]["parts"][0]["metal_g"].as_f64().expect("a number");
        assert!((grams / total - 1.0).abs() < 1e-3, "{grams} g against {total} g");
        let of = |k: usize| json["layers"][k]["parts"][0]["metal_g"].as_f64().expect("a number");
        assert!((of(0) + of(1) - total).abs() < 1e-9 * total);
    });
}

#[test]
fn the_picture_keeps_its_words_on_the_page_and_apart() {
    let demands = [demand(vec![0], Limit::Least(Length::um(15.0)))];
    with_stack(&demands, |context| {
        let drawing = picture::stack_drawing(context);
        let sheet = Rect::new(0.0, 0.0, drawing.width, drawing.height);
        for (k, text) in drawing.texts().iter().enumerate() {
            let inside = sheet.intersect(text.area).area();
            assert!((inside - text.area.area()).abs() < 1e-9, "{text:?} leaves {sheet:?}");
            for other in &drawing.texts()[k + 1..] {
                let common =
                    text.area.inflate(-1.0, -1.5).intersect(other.area.inflate(-1.0, -1.5));
                assert!(common.is_zero_area(), "{text:?} lies on {other:?}");
            }
        }
        assert_eq!(stack_png(context).expect("a picture"), stack_png(context).expect("again"));
        let said = stack_verdict(context, &[]).join("\n");
        assert!(said.contains("Wanted of nickel at least 15.0 µm ([want]): "), "{said}");
    });
}
