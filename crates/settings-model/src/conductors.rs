//! What conductors of standard sizes do to the voltage, for sites that state size and material.
//!
//! Nothing here was seen in the standards themselves: copper to 35 mm² is recalled from the tables of
//! AS/NZS 3008.1.1 for 75 °C, where secondary sources agree with it (1.6 for 25 mm² also circulates,
//! and 2.4 and 6.5 for 16 and 6 mm²); the rest is recalled from IEC 60228, greatest d.c. resistance of
//! stranded conductors (class 2) at 20 °C, taken to 75 °C with 0.00393 and 0.00403 for each kelvin.
//! Where both are at hand they agree to 1 % (below). Reactance is not among these figures.

use crate::exact::Exact;
use crate::files::Material;
use crate::provenance::Standing;

/// A conductor's figure.
#[derive(Clone, Copy, Debug)]
pub struct ConductorRow {
    /// What it is made of.
    pub material: Material,
    /// Cross-section in tenths of mm².
    size: i64,
    figure: Figure,
}

/// What a table says of a conductor.
#[derive(Clone, Copy, Debug)]
enum Figure {
    /// Voltage drop of three phases, in hundredths of mV/A·m at 75 °C.
    ThreePhaseDrop(i64),
    /// D.c. resistance at 20 °C, in thousandths of ohm/km.
    At20(i64),
}

const fn row(material: Material, size: i64, figure: Figure) -> ConductorRow {
    ConductorRow { material, size, figure }
}

use Figure::{At20, ThreePhaseDrop};
use Material::{Aluminium, Copper};

/// Every size that the program carries a figure for.
pub const CONDUCTORS: [ConductorRow; 19] = [
    row(Copper, 15, ThreePhaseDrop(2860)),
    row(Copper, 25, ThreePhaseDrop(1560)),
    row(Copper, 40, ThreePhaseDrop(971)),
    row(Copper, 60, ThreePhaseDrop(649)),
    row(Copper, 100, ThreePhaseDrop(386)),
    row(Copper, 160, ThreePhaseDrop(243)),
    row(Copper, 250, ThreePhaseDrop(153)),
    row(Copper, 350, ThreePhaseDrop(111)),
    row(Copper, 500, At20(387)),
    row(Copper, 700, At20(268)),
    row(Copper, 950, At20(193)),
    row(Copper, 1200, At20(153)),
    row(Aluminium, 160, At20(1910)),
    row(Aluminium, 250, At20(1200)),
    row(Aluminium, 350, At20(868)),
    row(Aluminium, 500, At20(641)),
    row(Aluminium, 700, At20(443)),
    row(Aluminium, 950, At20(320)),
    row(Aluminium, 1200, At20(253)),
];

impl ConductorRow {
    /// The row of a size, in mm², and a material.
    #[must_use]
    pub fn find(size: Exact, material: Material) -> Option<&'static Self> {
        CONDUCTORS.iter().find(|row| row.material == material && row.size() == size)
    }

    /// Cross-section in mm².
    #[must_use]
    pub fn size(&self) -> Exact {
        Exact::new(self.size, 1)
    }

    /// Impedance of one conductor for each kilometre, in ohms at 75 °C.
    #[must_use]
    pub fn ohms_per_kilometre(&self) -> f64 {
        const KELVIN: f64 = 55.0;
        match self.figure {
            ThreePhaseDrop(hundredths) => hundredths as f64 / 100.0 / 3.0_f64.sqrt(),
            At20(thousandths) => {
                let by_kelvin = if self.material == Copper { 0.003_93 } else { 0.004_03 };
                thousandths as f64 / 1000.0 * (1.0 + by_kelvin * KELVIN)
            }
        }
    }

    /// Where the figure was found.
    #[must_use]
    pub fn document(&self) -> &'static str {
        match self.figure {
            ThreePhaseDrop(_) => "AS/NZS 3008.1.1, 75 °C",
            At20(_) => "IEC 60228, class 2, taken to 75 °C",
        }
    }

    /// How sure it is.
    #[must_use]
    pub fn basis(&self) -> Standing {
        Standing::Memory
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Greatest d.c. resistance at 20 °C by IEC 60228, class 2 copper, from memory as the rest: what
    /// the two documents say of one size agrees. They list another conductor at 1.5 mm².
    #[test]
    fn the_two_documents_agree() {
        for (size, thousandths) in [("2.5", 7410), ("4", 4610), ("6", 3080), ("10", 1830), ("16", 1150), ("25", 727), ("35", 524)] {
            let listed = ConductorRow::find(Exact::parse(size).unwrap(), Copper).unwrap().ohms_per_kilometre();
            let other = ConductorRow { material: Copper, size: 0, figure: At20(thousandths) }.ohms_per_kilometre();
            assert!((listed / other - 1.0).abs() < 0.01, "{size} mm²: {listed}, {other}");
        }
    }

    #[test]
    fn more_metal_resists_less() {
        for pair in CONDUCTORS.windows(2).filter(|pair| pair[0].material == pair[1].material) {
            assert!(pair[0].size < pair[1].size && pair[0].ohms_per_kilometre() > pair[1].ohms_per_kilometre());
        }
    }
}
