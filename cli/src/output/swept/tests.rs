use shapes::Rect;

use super::*;

/// Columns and rows of made-up answers: hours fall with the current `b` and hardly with `a`; the
/// corner of both is no layout, and the greatest current burns.
fn swept<'a>(axes: usize) -> Swept<'a> {
    let axis = |name: &str, unit: &str, bins: &[f64]| Axis {
        name: name.into(),
        unit: unit.into(),
        words: Vec::new(),
        bins: bins.to_vec(),
        binned: false,
        logarithmic: false,
        stated: Some(bins[1]),
    };
    let all = [
        axis("anode.left.move.x", "mm", &[0.0, 10.0, 20.0, 30.0]),
        axis("supply.current", "A", &[20.0, 30.0, 40.0, 50.0, 60.0]),
        Axis {
            words: vec!["watts-nickel".into(), "nickel-sulfamate".into()],
            ..axis("bath.use", "", &[0.0, 1.0])
        },
    ];
    let axes: Vec<Axis> = all.into_iter().take(axes).collect();
    let values: Vec<Vec<f64>> = axes.iter().map(|a| a.bins.clone()).collect();
    let points = solver::plan::sample::grid(&values);
    let row = |(k, point): (usize, &Vec<f64>)| {
        let current = point.get(1).copied().unwrap_or(30.0);
        let near = point[0];
        let solved = near + current < 85.0;
        let seconds = 36e3 / current * (1.0 + near / 300.0);
        let figures = Figure::ALL.iter().map(|figure| {
            let value = match figure {
                Figure::TimeToWanted => seconds,
                Figure::Least => 5e-6 * 900.0 / seconds,
                Figure::Mean => 8e-6,
                Figure::Greatest => 20e-6,
                Figure::Burning => {
                    if current > 55.0 {
                        0.03
                    } else {
                        0.0
                    }
                }
                Figure::Voltage => 0.1 * current,
                _ => return None,
            };
            Some(Measured { value, doubt: 0.01 * value }).filter(|_| solved)
        });
        Row {
            number: k + 1,
            values: point.clone(),
            figures: figures.collect(),
            meets: Some(false),
            status: if solved { Status::Solved } else { Status::Blocked },
            reason: if solved { String::new() } else { "\"bell\" and \"left\" overlap".into() },
        }
    };
    let rows = points.iter().enumerate().map(row).collect();
    Swept { title: "Bell", axes, rows, units: DisplayUnits::Metric, wanted_m: [Some(5e-6), None] }
}

#[test]
fn the_best_neither_burns_nor_stays_bare() {
    let swept = swept(2);
    assert_eq!(swept.aim(), Aim { figure: Figure::TimeToWanted, less: true, all: false });
    let best = swept.best();
    // 60 A is faster, and burns
    assert_eq!(best[0].values, [0.0, 50.0]);
    assert!(best.iter().all(|row| row.values[1] < 55.0));
    let text = report(&swept).join("\n");
    assert!(text.contains("20 combinations, 18 solved, 2 make no layout."), "{text}");
    assert!(text.contains("2 times: \"bell\" and \"left\" overlap"), "{text}");
    let (first, second) = (text.find("supply.current 9"), text.find("anode.left.move.x under"));
    assert!(
        first.is_some() || second.is_some() || text.contains("explains by itself: supply.current"),
        "{text}"
    );
}

/// The logarithm of a product is a sum, so each factor's share of the variance is known: for a full
/// grid of independent factors the shares are those of the variances of the logarithms.
#[test]
fn the_variable_that_matters_most_is_named_with_its_share() {
    let mut swept = swept(2);
    for row in &mut swept.rows {
        let value = row.values[1] * (1.0 + row.values[0] / 30.0);
        row.figures = Figure::ALL
            .iter()
            .map(|f| (*f == Figure::TimeToWanted).then_some(Measured { value, doubt: 0.0 }))
            .collect();
        row.status = Status::Solved;
    }
    let variance = |values: &[f64]| {
        let logs: Vec<f64> = values.iter().map(|v| v.ln()).collect();
        let mean = logs.iter().sum::<f64>() / logs.len() as f64;
        logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / logs.len() as f64
    };
    let near = variance(&[1.0, 4.0 / 3.0, 5.0 / 3.0, 2.0]);
    let current = variance(&[20.0, 30.0, 40.0, 50.0, 60.0]);
    let share = 100.0 * current / (near + current);
    let text = report(&swept).join("\n");
    let expected = format!(
        "explains by itself: supply.current {share:.0} %, anode.left.move.x {:.0} %.",
        100.0 - share
    );
    assert!(text.contains(&expected), "{expected}\n{text}");
}

#[test]
fn no_label_of_a_chart_is_cut_or_covered() {
    for axes in 1..=3 {
        for (name, page) in swept(axes).charts() {
            let boxes: Vec<Rect> = page.texts().iter().map(|t| t.area).collect();
            for (k, a) in boxes.iter().enumerate() {
                let inside =
                    a.x0 >= 0.0 && a.x1 <= page.width && a.y0 >= 0.0 && a.y1 <= page.height;
                assert!(inside, "{axes} {name} {:?}", page.texts()[k]);
                for (j, b) in boxes.iter().enumerate().skip(k + 1) {
                    let apart = a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0;
                    assert!(apart, "{axes} {name} {:?} {:?}", page.texts()[k], page.texts()[j]);
                }
            }
            assert_eq!(page.png().expect("a picture"), page.png().expect("a picture"));
        }
    }
    assert_eq!(swept(3).charts().len(), 3);
}
