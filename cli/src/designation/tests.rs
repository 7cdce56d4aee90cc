use proptest::prelude::*;

use super::*;

fn layers(text: &str) -> Designation {
    match parse(text) {
        Ok(Coating::Layers(designation)) => designation,
        other => panic!("{text}: {other:?}"),
    }
}

#[test]
fn the_usual_forms_are_read() {
    // (as people write it, in the usual form, (symbol, least µm) of each coating)
    type Case = (&'static str, &'static str, &'static [(&'static str, f64)]);
    let cases: &[Case] = &[
        ("Fe/Cu20Ni30bCr r", "Fe/Cu20 Ni30b Cr r", &[("Cu", 20.0), ("Ni", 30.0), ("Cr", 0.3)]),
        ("Zn/Cu5 Ni25d Cr mc", "Zn/Cu5 Ni25d Cr mc", &[("Cu", 5.0), ("Ni", 25.0), ("Cr", 0.3)]),
        ("Fe/Ni30p Cr mp", "Fe/Ni30p Cr mp", &[("Ni", 30.0), ("Cr", 0.3)]),
        (
            " PL / Cu 15 a / Ni 20 b / Cr 0.5 mp ",
            "PL/Cu15a Ni20b Cr0.5 mp",
            &[("Cu", 15.0), ("Ni", 20.0), ("Cr", 0.5)],
        ),
        ("Fe/Zn12", "Fe/Zn12", &[("Zn", 12.0)]),
        ("Fe/Zn 25 /C/T2 SC4", "Fe/Zn25/C/T2 SC4", &[("Zn", 25.0)]),
        ("Fe/Zn8 type II", "Fe/Zn8 type II", &[("Zn", 8.0)]),
        ("Cu/Ni10s", "Cu/Ni10s", &[("Ni", 10.0)]),
    ];
    for (text, usual, wanted) in cases {
        let read = layers(text);
        assert_eq!(read.to_string(), *usual);
        let found: Vec<(&str, f64)> =
            read.layers().iter().map(|l| (l.metal.symbol(), l.least_um)).collect();
        assert_eq!(found, *wanted, "{text}");
    }
    let class = |text: &str| parse(text).expect(text).to_string();
    assert_eq!((class("SC3"), class(" Zn SC 4")), ("SC3".into(), "Zn SC4".into()));
}

#[test]
fn faults_are_named_with_their_place() {
    let cases = [
        ("", 0..0, "nothing is designated"),
        ("fe/Zn12", 0..2, "no basis metal of these standards"),
        ("Fe Zn12", 3..7, "a stroke wanted after Fe"),
        ("Fe/", 3..3, "a coating wanted: Cu, Ni, Cr or Zn"),
        ("Fe/Ni30", 3..7, "Ni needs its letter"),
        ("Fe/Ni30x", 7..8, "`x` is no kind of nickel"),
        ("Fe/Nib", 3..6, "Ni needs its least thickness in µm"),
        ("Fe/Ni0b", 5..6, "no thickness in µm"),
        ("Fe/Ni.5b", 5..7, "no thickness in µm"),
        ("Fe/Ni20b Cr", 9..11, "Cr needs its letter"),
        ("Fe/Cr r", 3..7, "Cr is out of place here"),
        ("Fe/Ni20b Cu5", 9..12, "Cu is out of place here"),
        ("Fe/Cu20a", 3..8, "copper alone is no coating of these standards"),
        ("Al/Zn12", 3..7, "zinc coatings of ISO 2081 and ASTM B633 are on iron or steel"),
        ("Fe/Ni20b Zn5", 9..12, "zinc stands alone"),
        ("Fe/Zn12b", 7..8, "`b` is no kind of zinc"),
        ("Fe/Zn12/E", 7..9, "no coating and no finish of these standards"),
        ("Fe/Ni20b/A", 8..10, "conversion coatings belong to zinc"),
        ("Fe/Zn12 SC6", 8..11, "no such service class"),
        ("Fe/Zn12 SC4", 0..11, "SC4 asks for Fe/Zn25, which is more than this"),
        ("Fe/Zn12 SC5", 0..11, "zinc has no class SC5"),
        ("Fe/Zn12 µ", 8..10, "nothing is wanted here any more"),
        ("SC3 x", 4..5, "nothing is wanted here any more"),
    ];
    for (text, span, message) in cases {
        let error = parse(text).expect_err(text);
        assert_eq!((error.message.as_str(), error.span.clone()), (message, span), "{text}");
        assert!(!error.hint.is_empty(), "{text}");
    }
}

/// The tables and the reader must agree: every line reaches its class, none a harder one of the
/// same kind of chromium.
#[test]
fn every_line_of_the_tables_reaches_its_class() {
    for entry in entries() {
        let read = layers(entry.designation);
        assert_eq!(read.to_string(), entry.designation);
        assert_eq!(read.basis, entry.basis);
        let reached = classes::reached(&read).expect("a class");
        let higher = entries()
            .any(|other| other.class > entry.class && other.designation == entry.designation);
        assert!(reached == entry.class || higher, "{}: {reached}", entry.designation);
    }
}

#[test]
fn explanations_say_what_is_implied_and_from_where() {
    insta::assert_snapshot!(explain(&layers("Zn/Cu5 Ni25d Cr mc")).join("\n"));
    insta::assert_snapshot!(explain(&layers("Fe/Zn12/C/T2")).join("\n"));
    let class = ServiceClass::of("3").expect("a class");
    insta::assert_snapshot!(explain_class(class, Some(Basis::Steel)).join("\n"));
}

fn thickness() -> impl Strategy<Value = f64> {
    prop_oneof![(1..1000u32).prop_map(f64::from), (1..9999u32).prop_map(|n| f64::from(n) / 100.0)]
}

fn kind(metal: Metal) -> impl Strategy<Value = Option<Kind>> {
    prop::sample::select(metal.kinds()).prop_map(Some)
}

prop_compose! {
    fn decorative()(
        basis in prop::sample::select(Basis::ALL.to_vec()),
        copper in prop::option::of((thickness(), prop::option::of(Just(Kind::Levelled)))),
        nickel in (thickness(), kind(Metal::Nickel)),
        chromium in prop::option::of((prop::option::of(thickness()), kind(Metal::Chromium))),
        class in prop::option::of(prop::sample::select(ServiceClass::ALL.to_vec())),
    ) -> Designation {
        let mut coats = Vec::new();
        let mut put = |metal, stated_um, kind| coats.push(Coat { metal, stated_um, kind });
        if let Some((um, kind)) = copper { put(Metal::Copper, Some(um), kind) }
        put(Metal::Nickel, Some(nickel.0), nickel.1);
        if let Some((um, kind)) = chromium { put(Metal::Chromium, um, kind) }
        Designation { basis, coats, finishes: Vec::new(), class }
    }
}

prop_compose! {
    fn zinc()(
        um in thickness(),
        letter in prop::option::of(prop::sample::select(vec!['A', 'B', 'C', 'D', 'F'])),
        treatment in prop::option::of(0..6u8),
        kind in prop::option::of(1..7u8),
    ) -> Designation {
        let mut finishes: Vec<Finish> = letter.into_iter().map(Finish::Conversion).collect();
        finishes.extend(treatment.map(Finish::Treatment));
        finishes.extend(kind.map(Finish::Type));
        let coats = vec![Coat { metal: Metal::Zinc, stated_um: Some(um), kind: None }];
        Designation { basis: Basis::Steel, coats, finishes, class: None }
    }
}

/// Pieces from which nearly-designations are made.
const PIECES: [&str; 27] = [
    "Fe", "Zn", "Cu", "Al", "PL", "Ni", "Cr", "/", " ", "20", "0.3", ".", "a", "b", "d", "mp",
    "mc", "r", "SC", "3", "type", "II", "/A", "/T2", "µ", "ſ", "\n",
];

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

    #[test]
    fn what_is_written_is_read_back(designation in prop_oneof![decorative(), zinc()]) {
        let text = designation.to_string();
        prop_assert_eq!(parse(&text), Ok(Coating::Layers(designation)), "{}", text);
    }

    #[test]
    fn no_text_makes_it_panic(
        pieces in prop::collection::vec(prop::sample::select(PIECES.to_vec()), 0..12),
        any in ".{0,20}",
    ) {
        for text in [pieces.concat(), any] {
            match parse(&text) {
                Ok(Coating::Layers(designation)) => {
                    prop_assert!(!explain(&designation).is_empty());
                    let again = parse(&designation.to_string());
                    prop_assert_eq!(again, Ok(Coating::Layers(designation)));
                }
                Ok(Coating::Class { basis, class }) => {
                    prop_assert!(!explain_class(class, basis).is_empty());
                }
                Err(error) => prop_assert!(text.get(error.span.clone()).is_some(), "{:?}", error),
            }
        }
    }
}
