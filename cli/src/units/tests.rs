use proptest::prelude::*;
use solver::quantity as q;

use super::atom::ATOMS;
use super::*;

/// Relative error of a unit: one rounding of the factor, one of the product.
const ROUNDING: f64 = 4e-16;

fn si(text: &str, kind: Kind) -> f64 {
    parse_si(text, kind).unwrap_or_else(|error| panic!("{text}: {}", error.message()))
}

#[test]
fn every_unit_has_its_size() {
    // expected values: the metric prefixes, and the international inch (0.0254 m) and foot
    // (0.3048 m), exact by definition
    let foot2 = 0.3048 * 0.3048;
    let cases = [
        ("30 A", Kind::Current, 30.0),
        ("250mA", Kind::Current, 0.25),
        ("1.2 kA", Kind::Current, 1200.0),
        ("4 A/dm2", Kind::CurrentDensity, 400.0),
        ("4 A/dm²", Kind::CurrentDensity, 400.0),
        ("4 A/dm^2", Kind::CurrentDensity, 400.0),
        ("4 A / dm2", Kind::CurrentDensity, 400.0),
        ("4 A dm-2", Kind::CurrentDensity, 400.0),
        ("4 A·dm⁻²", Kind::CurrentDensity, 400.0),
        ("4 ASD", Kind::CurrentDensity, 400.0),
        ("400 A/m2", Kind::CurrentDensity, 400.0),
        ("0.04 A/cm2", Kind::CurrentDensity, 400.0),
        ("40 mA/cm2", Kind::CurrentDensity, 400.0),
        ("37 A/ft2", Kind::CurrentDensity, 37.0 / foot2),
        ("37 A/sq ft", Kind::CurrentDensity, 37.0 / foot2),
        ("37 ASF", Kind::CurrentDensity, 37.0 / foot2),
        ("2 A/in2", Kind::CurrentDensity, 2.0 / (0.0254 * 0.0254)),
        ("2 ASI", Kind::CurrentDensity, 2.0 / (0.0254 * 0.0254)),
        ("12 S/m", Kind::Conductivity, 12.0),
        ("0.12 S/cm", Kind::Conductivity, 12.0),
        ("120 mS/cm", Kind::Conductivity, 12.0),
        ("12 1/(ohm m)", Kind::Conductivity, 12.0),
        ("12 /(Ω·m)", Kind::Conductivity, 12.0),
        ("12 ohm^-1 m^-1", Kind::Conductivity, 12.0),
        ("5 V", Kind::Potential, 5.0),
        ("120 mV", Kind::Potential, 0.12),
        ("-30 mV", Kind::Potential, -0.03),
        ("−30 mV", Kind::Potential, -0.03),
        ("15 µV", Kind::Potential, 15e-6),
        ("15 μV", Kind::Potential, 15e-6),
        ("15 uV", Kind::Potential, 15e-6),
        ("2e-5 ohm m2", Kind::AreaResistance, 2e-5),
        ("0.2 ohm cm2", Kind::AreaResistance, 2e-5),
        ("0.02 mohm m2", Kind::AreaResistance, 2e-5),
        ("2 mV/(A/dm2)", Kind::AreaResistance, 2e-5),
        ("2e-5 V/(A/m2)", Kind::AreaResistance, 2e-5),
        ("1 mV/(A/ft2)", Kind::AreaResistance, 1e-3 * foot2),
        ("55 degC", Kind::Temperature, 328.15),
        ("55 °C", Kind::Temperature, 328.15),
        ("130 degF", Kind::Temperature, (130.0 + 459.67) / 1.8),
        ("212 °F", Kind::Temperature, 373.15),
        ("328.15 K", Kind::Temperature, 328.15),
        ("25 min", Kind::Time, 1500.0),
        ("90 s", Kind::Time, 90.0),
        ("1.5 h", Kind::Time, 5400.0),
        ("2 hours", Kind::Time, 7200.0),
        ("20 um", Kind::Length, 20e-6),
        ("20 µm", Kind::Length, 20e-6),
        ("3 mm", Kind::Length, 3e-3),
        ("4 cm", Kind::Length, 0.04),
        ("0.8 mil", Kind::Length, 0.8 * 25.4e-6),
        ("0.8 thou", Kind::Length, 0.8 * 25.4e-6),
        ("12 in", Kind::Length, 0.3048),
        ("2 ft", Kind::Length, 0.6096),
        ("300 nm", Kind::Length, 300e-9),
        ("1 %", Kind::Fraction, 0.01),
        ("95%", Kind::Fraction, 0.95),
        ("2 mohm", Kind::Resistance, 2e-3),
        ("2 mΩ", Kind::Resistance, 2e-3),
        ("500 uohm", Kind::Resistance, 5e-4),
        ("12 A h", Kind::Charge, 43_200.0),
        ("12 Ah", Kind::Charge, 43_200.0),
        ("58.69 g/mol", Kind::MolarMass, 0.05869),
        ("8.9 g/cm3", Kind::Density, 8900.0),
    ];
    for (text, kind, expected) in cases {
        let read = si(text, kind);
        assert!(
            (read - expected).abs() <= 4.0 * ROUNDING * expected.abs(),
            "{text}: {read} not {expected}"
        );
    }
}

#[test]
fn the_example_of_each_kind_is_of_that_kind() {
    for kind in Kind::ALL {
        assert!(parse_si(kind.example(), kind).is_ok(), "{}", kind.example());
        for unit in kind.units() {
            assert!(parse_si(&format!("1 {unit}"), kind).is_ok(), "{unit}");
        }
    }
}

#[test]
fn faults_name_the_place_and_the_way_out() {
    let fault = |text: &str, kind| {
        let error = parse_si(text, kind).expect_err(text);
        format!(
            "{} {} @{:?} | {} | {}",
            error.code(),
            error.message(),
            error.span,
            error.label(),
            error.help()
        )
    };
    let density = Kind::CurrentDensity;
    insta::assert_snapshot!(
        [
            fault("2.5 Amp", Kind::Current),
            fault("4 A/dm3", density),
            fault("4 V", density),
            fault("4", density),
            fault("four", density),
            fault("4,5 A/dm2", density),
            fault("nan A", Kind::Current),
            fault("1e999 V", Kind::Potential),
            fault("1e306 kA/cm2", density),
            fault("20 C", Kind::Temperature),
            fault("20 mm/", Kind::Length),
            fault("20 (mm", Kind::Length),
            fault("20 mm)", Kind::Length),
            fault("20 mm^", Kind::Length),
            fault("20 mm^99", Kind::Length),
            fault("20 mn", Kind::Length),
            fault("20 minuts", Kind::Time),
            fault("", Kind::Time),
        ]
        .join("\n")
    );
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,40}", k in 0..Kind::ALL.len()) {
        let _ = parse_si(&text, Kind::ALL[k]);
    }

    #[test]
    fn no_text_of_likely_letters_makes_the_reader_panic(
        text in "[-+0-9.,eE ]{0,6}[AVmSohdcCFKins%µΩ²³^/()*·1-9 ]{0,12}",
        k in 0..Kind::ALL.len(),
    ) {
        let kind = Kind::ALL[k];
        match parse_si(&text, kind) {
            Ok(value) => prop_assert!(value.is_finite()),
            Err(error) => prop_assert!(text.get(error.span.clone()).is_some(), "{:?}", error.span),
        }
    }

    /// Any value in any plain unit reads back as what the unit's size says.
    #[test]
    fn a_written_quantity_reads_back(value in -1e9..1e9_f64, k in 0..ATOMS.len()) {
        let atom = ATOMS[k];
        if let Some(kind) = Kind::of(atom.dimension) {
            let read = si(&format!("{value} {}", atom.names[0]), kind);
            let expected = value * atom.factor + atom.offset;
            prop_assert_eq!(read, expected);
        }
    }

    /// SI text of a current density reads back bit for bit.
    #[test]
    fn si_text_reads_back_exactly(value in proptest::num::f64::NORMAL) {
        let read: q::CurrentDensity = parse(&format!("{value:e} A/m2")).expect("SI text");
        prop_assert_eq!(read.si().to_bits(), value.to_bits());
    }
}
