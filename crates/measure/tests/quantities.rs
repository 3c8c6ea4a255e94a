//! What the shop writes, and what the house makes of it.

use proptest::prelude::*;
use sumpwright_measure::Dimension::{self, *};
use sumpwright_measure::{QuantityFault, UnitOrder, read, show};

#[track_caller]
fn reads(text: &str, due: Dimension, wanted: f64) {
    let got = read(text, due).unwrap_or_else(|fault| panic!("{text}: {fault}"));
    assert!(
        (got - wanted).abs() <= 1e-14 * wanted.abs(),
        "{text}: got {got:e}, wanted {wanted:e}"
    );
}

#[track_caller]
fn refuses(text: &str, due: Dimension, message: &str) {
    match read(text, due) {
        Ok(value) => panic!("{text} was read as {value}"),
        Err(fault) => assert_eq!(fault.to_string(), message),
    }
}

/// Factors from NIST SP 811 (2008), appendix B.8, as printed; exact ones are bold there.
#[test]
fn factors_are_those_of_nist_sp_811() {
    // Exact.
    reads("1 in", Length, 0.0254);
    reads("1 ft", Length, 0.3048);
    reads("1 lb", Mass, 0.453_592_37);
    reads("1 L", Volume, 1e-3);
    reads("1 bar", Pressure, 1e5);
    reads("1 g", Acceleration, 9.80665);
    reads("0 C", Temperature, 273.15);
    // Rounded in print to seven figures, hence 5e-7.
    for (text, due, printed) in [
        ("1 psi", Pressure, 6.894757e3),
        ("1 gal", Volume, 3.785412e-3),
        ("1 qt", Volume, 9.463529e-4),
        ("1 fl oz", Volume, 2.957353e-5),
        ("1 gpm", Flow, 6.309020e-5),
        ("1 lbf.ft", Torque, 1.355818),
        ("1 lbf.in", Torque, 1.129848e-1),
        ("1 lb/ft3", Density, 1.601846e1),
        ("1 lb/gal", Density, 1.198264e2),
        ("1 mph", Speed, 4.4704e-1),
        ("1 in3", Volume, 1.638706e-5),
        ("1 oz", Mass, 2.834952e-2),
        ("1 rpm", EngineSpeed, 1.0 / 60.0),
        ("1 deg", Angle, 1.745329e-2),
    ] {
        let got = read(text, due).unwrap();
        assert!(
            (got / printed - 1.0).abs() < 5e-7,
            "{text}: got {got}, printed {printed}"
        );
    }
}

#[test]
fn trade_ways_of_writing_are_read() {
    reads("35 mm", Length, 0.035);
    reads("35mm", Length, 0.035);
    reads("  -120 mm ", Length, -0.12);
    reads("\u{2212}120 mm", Length, -0.12);
    reads("1-1/2 in", Length, 1.5 * 0.0254);
    reads("1 1/2 in", Length, 1.5 * 0.0254);
    reads("-1-1/2\"", Length, -1.5 * 0.0254);
    reads("3/8\"", Length, 0.375 * 0.0254);
    reads("0,5 mm", Length, 0.5e-3);
    reads("0,125 in", Length, 0.125 * 0.0254);
    reads("1,5 L", Volume, 1.5e-3);
    reads(".5 in", Length, 0.0127);
    reads("110 \u{b0}C", Temperature, 383.15);
    reads("110 degC", Temperature, 383.15);
    reads("230 F", Temperature, 383.15);
    reads("-40 C", Temperature, 233.15);
    reads("-40 F", Temperature, 233.15);
    reads("23 mm\u{b2}/s", KinematicViscosity, 23e-6);
    reads("23 cSt", KinematicViscosity, 23e-6);
    reads("1.6e-4 m2/s", KinematicViscosity, 1.6e-4);
    reads("92 lbf.in", Torque, 92.0 * 4.448_221_615_260_5 * 0.0254);
    reads("92 in-lb", Torque, 92.0 * 4.448_221_615_260_5 * 0.0254);
    reads("18 ft-lbs", Torque, 18.0 * 4.448_221_615_260_5 * 0.3048);
    reads("10 N\u{b7}m", Torque, 10.0);
    reads("7200 RPM", EngineSpeed, 120.0);
    reads("4.5 BAR", Pressure, 4.5e5);
    reads("24 L/min", Flow, 24e-3 / 60.0);
    reads("24 l/min", Flow, 24e-3 / 60.0);
    reads("14 cc/rev", Displacement, 14e-6);
    reads("5.5 US qt", Volume, 5.5 * 0.946_352_946e-3);
    reads("30 %", Share, 0.3);
    reads("0.3", Share, 0.3);
    reads("5 Hz", Frequency, 5.0);
    reads("5 1/s", Frequency, 5.0);
}

#[test]
fn g_is_what_is_due() {
    reads("0.9 g", Acceleration, 0.9 * 9.80665);
    reads("40 g", Mass, 0.040);
    refuses(
        "0.9 g",
        Length,
        "\"0.9 g\": \"g\" makes it a mass; a length is due; write it for instance as \"35 mm\" or \"1-3/8 in\"",
    );
}

#[test]
fn faults_say_what_was_read_what_is_due_and_how_to_write_it() {
    refuses(
        "35",
        Length,
        "\"35\" carries no unit; a length is due; write it for instance as \"35 mm\" or \"1-3/8 in\"",
    );
    refuses(
        "35 milimetre",
        Length,
        "\"35 milimetre\": \"milimetre\" is no known unit; a length is due; write it for instance as \"35 mm\" or \"1-3/8 in\"",
    );
    refuses(
        "2 quat",
        Volume,
        "\"2 quat\": \"quat\" is no known unit; a volume is due; did you mean \"quart\"? Write it for instance as \"5.2 L\" or \"5.5 qt\"",
    );
    refuses(
        "5 L",
        Length,
        "\"5 L\": \"L\" makes it a volume; a length is due; write it for instance as \"35 mm\" or \"1-3/8 in\"",
    );
    refuses(
        "1,500 mm",
        Length,
        "the comma or point in \"1,500 mm\" may part thousands or decimals; write \"1.500 mm\" or \"1500 mm\"",
    );
    refuses(
        "1.234,5 mm",
        Length,
        "the comma or point in \"1.234,5 mm\" may part thousands or decimals; leave out what parts the thousands, for instance \"35 mm\" or \"1-3/8 in\"",
    );
    refuses(
        "",
        Time,
        "nothing stands where a time is due; write it for instance as \"0.8 s\" or \"250 ms\"",
    );
    refuses(
        "nan mm",
        Length,
        "\"nan mm\" does not begin with a number; a length is due; write it for instance as \"35 mm\" or \"1-3/8 in\"",
    );
    refuses(
        "1e999 mm",
        Length,
        "\"1e999 mm\" is beyond any length; write it for instance as \"35 mm\" or \"1-3/8 in\"",
    );
    refuses(
        "-300 C",
        Temperature,
        "\"-300 C\" is beyond any temperature; write it for instance as \"110 C\" or \"230 F\"",
    );
    for text in [
        "inf mm", "--5 mm", "1/0 in", "1-1/0 in", "mm", "1 000 mm", "1_000 mm", "5 mm 3", "0x10 mm",
    ] {
        assert!(read(text, Length).is_err(), "{text}");
    }
    let long = format!("{} mm", "9".repeat(5000));
    assert!(matches!(
        read(&long, Length),
        Err(QuantityFault::OutOfReach { .. })
    ));
}

#[test]
fn shown_values_carry_both_units_and_the_digits_a_machinist_reads() {
    let show = |value, what| show(value, what, UnitOrder::MetricFirst);
    assert_eq!(show(0.035, Length), "35.0 mm (1.38 in)");
    assert_eq!(show(0.4, Length), "400.0 mm (15.75 in)");
    assert_eq!(show(0.0005, Length), "0.500 mm (0.0197 in)");
    assert_eq!(show(0.0, Length), "0.0 mm (0.00 in)");
    assert_eq!(show(-1e-12, Length), "0.0 mm (0.00 in)");
    assert_eq!(show(5.2e-3, Volume), "5.20 L (5.49 qt)");
    assert_eq!(show(45e-6, Volume), "45.0 mL (1.52 fl oz)");
    assert_eq!(show(383.15, Temperature), "110 °C (230 °F)");
    assert_eq!(show(120.0, EngineSpeed), "7200 rpm");
    assert_eq!(show(0.9 * 9.80665, Acceleration), "0.900 g (8.83 m/s²)");
    assert_eq!(show(4.5e5, Pressure), "4.50 bar (65.3 psi)");
    assert_eq!(show(72.3e3, Pressure), "72.3 kPa (10.5 psi)");
    assert_eq!(show(0.04, Mass), "40.0 g (1.41 oz)");
    assert_eq!(show(14e-6, Displacement), "14.0 cc/rev (0.854 in³/rev)");
    assert_eq!(show(0.3, Share), "30.0 %");
    assert_eq!(show(f64::NAN, Length), "not a number");
    assert_eq!(
        sumpwright_measure::show(0.035, Length, UnitOrder::InchFirst),
        "1.38 in (35.0 mm)"
    );
}

#[test]
fn a_quantity_with_a_band_is_shown_without_false_digits() {
    use sumpwright_measure::show_within;
    let within = |value, band, what| show_within(value, band, what, UnitOrder::MetricFirst);
    assert_eq!(within(0.0062, 0.0025, Length), "6 mm (0.24 in)");
    assert_eq!(within(0.000_214, 1e-5, Dimension::Volume), "0.21 L (0.23 qt)");
    assert_eq!(within(0.812, 0.1, Dimension::Time), "0.8 s");
    assert_eq!(
        within(0.035, 0.0, Length),
        show(0.035, Length, UnitOrder::MetricFirst)
    );
    assert_eq!(within(f64::NAN, 0.1, Length), "not a number");
}

proptest! {
    #[test]
    fn no_text_panics_and_no_answer_is_infinite(text in "\\PC{0,40}", which in 0usize..18) {
        if let Ok(value) = read(&text, Dimension::ALL[which]) {
            prop_assert!(value.is_finite());
        }
    }

    #[test]
    fn a_number_reads_the_same_with_point_and_comma(whole in 0u32..10_000, part in 0u32..100) {
        let point = read(&format!("{whole}.{part:02} mm"), Length).unwrap();
        let comma = read(&format!("{whole},{part:02} mm"), Length).unwrap();
        prop_assert_eq!(point, comma);
    }

    #[test]
    fn what_is_shown_reads_back_within_its_digits(micrometres in 1_000i32..10_000_000) {
        let value = f64::from(micrometres) * 1e-6;
        let text = show(value, Length, UnitOrder::MetricFirst);
        let metric = text.split(" (").next().unwrap();
        prop_assert!((read(metric, Length).unwrap() - value).abs() <= 0.0501e-3);
    }
}

/// 89 lbf·in are 10.0556 N·m (pint).
#[test]
fn a_torque_is_shown_in_the_units_of_three_wrenches() {
    use sumpwright_measure::{UnitOrder, show_torque};
    let torque = read("89 in-lb", Dimension::Torque).unwrap();
    assert!((torque - 10.0556).abs() < 1e-4, "{torque}");
    assert_eq!(
        show_torque(torque, UnitOrder::MetricFirst),
        "10.1 N·m (7.4 lbf·ft, 89 lbf·in)"
    );
    assert_eq!(
        show_torque(torque, UnitOrder::InchFirst),
        "7.4 lbf·ft (89 lbf·in, 10.1 N·m)"
    );
    assert_eq!(read("45 ksi", Dimension::Stress).unwrap().round(), 310_264_078.0);
    assert_eq!(read("1.8 kN", Dimension::Force).unwrap(), 1800.0);
}
