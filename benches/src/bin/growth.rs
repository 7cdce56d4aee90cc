//! Prints how the number of unknowns grows: with the tank's area at a fixed rack, with the length
//! of outline at a fixed tank, and with the accuracy asked for.

use layouts::rack;
use shapes::ShapeError;
use solver::{Role, SolveSettings, solve};

fn main() {
    if let Err(error) = tables() {
        println!("{error}");
    }
}

fn tables() -> Result<(), ShapeError> {
    println!("Six bars of 16 mm, tank growing, 1 %\n");
    header();
    for width in [400.0, 800.0, 1600.0, 3200.0, 6400.0] {
        row(6, [width, width], 0.01)?;
    }
    println!("\nTank of 4 m by 0.6 m, bars growing in number, 1 %\n");
    header();
    for count in [3, 6, 12, 24, 48, 96] {
        row(count, [4000.0, 600.0], 0.01)?;
    }
    println!("\nSix bars in a tank of 0.6 m by 0.4 m, accuracy growing\n");
    header();
    for accuracy in [0.03, 0.01, 0.003, 0.001, 0.000_3] {
        row(6, [600.0, 400.0], accuracy)?;
    }
    Ok(())
}

fn header() {
    println!(
        "| tank, m² | wetted outline, m | accuracy | unknowns | cells | grids |\n| --- | --- | --- | --- | --- | --- |"
    );
}

fn row(bars: usize, tank_mm: [f64; 2], accuracy: f64) -> Result<(), ShapeError> {
    let layout = rack(bars, tank_mm)?;
    let area_m2 = layout.tank.area();
    let metal = layout.bodies.iter().filter(|b| b.role != Role::Shield);
    let length_m: f64 = metal.map(|b| b.outline.perimeter()).sum();
    let settings = SolveSettings { accuracy, ..SolveSettings::default() };
    match solve(&layout, &settings, &mut |_| {}) {
        Ok(solution) => {
            let s = solution.stats;
            println!(
                "| {area_m2:.2} | {length_m:.2} | {} % | {} | {} | {} |",
                100.0 * accuracy,
                s.unknowns,
                s.cells,
                s.grids
            );
        }
        Err(error) => {
            println!("| {area_m2:.2} | {length_m:.2} | {} % | {error} | | |", 100.0 * accuracy)
        }
    }
    Ok(())
}
