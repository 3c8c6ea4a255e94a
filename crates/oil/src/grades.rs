//! Typical oils by grade, and the limits that define the grades.
//!
//! The two-point table is from memory: rounded, typical figures to start from. A shop that knows its oil
//! types in the numbers of the oil's own sheet. The limits are those of SAE J300 (January 2015).

use crate::fluid::{OilFault, OilSpec};
use crate::viscosity::TwoPoints;

/// A typical oil of one grade.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grade {
    /// Name, e.g. "5W-40".
    pub name: &'static str,
    /// Kinematic viscosity at 40 °C [mm²/s].
    pub at_40: f64,
    /// Kinematic viscosity at 100 °C [mm²/s].
    pub at_100: f64,
    /// Density at 15 °C [kg/m³].
    pub density_15: f64,
}

const fn grade(name: &'static str, at_40: f64, at_100: f64, density_15: f64) -> Grade {
    Grade {
        name,
        at_40,
        at_100,
        density_15,
    }
}

/// Typical oils: from memory, rounded; no single source.
pub const TABLE: [Grade; 12] = [
    grade("0W-20", 44.0, 8.4, 845.0),
    grade("0W-30", 58.0, 10.2, 845.0),
    grade("0W-40", 76.0, 13.5, 848.0),
    grade("5W-30", 65.0, 11.0, 855.0),
    grade("5W-40", 84.0, 14.0, 855.0),
    grade("5W-50", 110.0, 18.0, 860.0),
    grade("10W-40", 95.0, 14.4, 867.0),
    grade("10W-60", 160.0, 23.0, 855.0),
    grade("15W-50", 130.0, 18.5, 870.0),
    grade("20W-50", 160.0, 18.5, 880.0),
    grade("SAE 30", 95.0, 11.0, 885.0),
    grade("SAE 40", 140.0, 14.5, 890.0),
];

impl Grade {
    /// The oil of this row.
    pub fn spec(&self) -> OilSpec {
        OilSpec {
            name: self.name.to_string(),
            viscosity: TwoPoints::at_40_and_100(self.at_40 * 1e-6, self.at_100 * 1e-6),
            density_15: self.density_15,
            basis: "typical of the grade, rounded, from memory; enter your own oil's sheet".to_string(),
        }
    }
}

/// The row of a grade; case, blanks and hyphens do not matter ("5w40" finds "5W-40").
pub fn find(name: &str) -> Result<&'static Grade, OilFault> {
    let plain = |text: &str| -> String {
        let text: String = text
            .chars()
            .filter(|c| c.is_ascii_alphanumeric())
            .collect::<String>()
            .to_ascii_uppercase();
        text.trim_start_matches("SAE").to_string()
    };
    let wanted = plain(name);
    TABLE
        .iter()
        .find(|grade| plain(grade.name) == wanted)
        .ok_or_else(|| {
            let nearest = TABLE
                .iter()
                .min_by_key(|grade| measure::nearest::edits(&plain(grade.name), &wanted))
                .expect("the table has rows");
            OilFault::UnknownGrade {
                name: name.to_string(),
                nearest: nearest.name,
            }
        })
}

/// High-temperature limits of an SAE grade: kinematic viscosity at 100 °C [mm²/s], lower bound included,
/// upper bound not (SAE J300, January 2015, as reprinted by two oil makers).
pub const SAE_AT_100: [(u32, f64, f64); 8] = [
    (8, 4.0, 6.1),
    (12, 5.0, 7.1),
    (16, 6.1, 8.2),
    (20, 6.9, 9.3),
    (30, 9.3, 12.5),
    (40, 12.5, 16.3),
    (50, 16.3, 21.9),
    (60, 21.9, 26.1),
];

/// Every SAE grade that a kinematic viscosity at 100 °C [m²/s] fits; grades 8 to 20 overlap (the
/// high-shear viscosity decides between them).
pub fn sae_grades_at_100(viscosity_100: f64) -> Vec<u32> {
    let v = viscosity_100 * 1e6;
    // A hair of slack on the bounds, so that a number typed as 9.3 mm²/s counts as 9.3 after its way
    // through m²/s.
    let at_least = |bound: f64| v >= bound * (1.0 - 1e-12);
    SAE_AT_100
        .iter()
        .filter(|row| at_least(row.1) && !at_least(row.2))
        .map(|row| row.0)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grades_are_found_however_they_are_written() {
        for text in ["10W-60", "10w60", " 10W 60 ", "SAE 10W-60"] {
            assert_eq!(find(text).unwrap().name, "10W-60");
        }
        assert_eq!(find("sae30").unwrap().name, "SAE 30");
        assert_eq!(find("30").unwrap().name, "SAE 30");
        let fault = find("10W-61").unwrap_err();
        assert_eq!(
            fault,
            OilFault::UnknownGrade {
                name: "10W-61".into(),
                nearest: "10W-60"
            }
        );
    }

    #[test]
    fn viscosities_fall_in_the_grades_of_sae_j300() {
        for (v, due) in [
            (9.3, vec![30]),
            (12.49, vec![30]),
            (12.5, vec![40]),
            (16.3, vec![50]),
            (5.5, vec![8, 12]),
            (6.5, vec![12, 16]),
            (7.0, vec![12, 16, 20]),
            (8.0, vec![16, 20]),
            (3.0, vec![]),
        ] {
            assert_eq!(sae_grades_at_100(v * 1e-6), due, "{v} mm²/s");
        }
    }

    #[test]
    fn every_row_of_the_table_is_an_oil_of_the_grade_it_names() {
        for row in TABLE {
            let hot: u32 = row.name.rsplit(['-', ' ']).next().unwrap().parse().unwrap();
            assert!(
                sae_grades_at_100(row.at_100 * 1e-6).contains(&hot),
                "{}",
                row.name
            );
            let fluid = row.spec().at(383.15, 0.0).unwrap();
            assert!(
                (750.0..850.0).contains(&fluid.density),
                "{}: {}",
                row.name,
                fluid.density
            );
        }
    }
}
