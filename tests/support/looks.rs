//! The dials of the tests: four looks as different as dash dials are.
use super::plan::{Needle, Plan, Shadow};
use needleband::maths::units::Unit;

fn steps(first: f64, last: f64, step: f64) -> Vec<f64> {
    (0..=((last - first) / step).round() as usize).map(|i| first + step * i as f64).collect()
}

/// White on dark, an orange needle, 240° clockwise, even scale, numerals inside, a red zone, a bezel that stands up.
pub fn night() -> Plan {
    let labels = steps(40.0, 160.0, 20.0);
    Plan {
        name: "night",
        unit: Unit::C,
        printed: labels.clone(),
        labels,
        parts: 4,
        ends: [-120.0, 120.0],
        bend: 0.0,
        squeeze: 0.0,
        paper: [20.0, 22.0, 26.0],
        print: [225.0, 228.0, 230.0],
        dash: [52.0, 50.0, 50.0],
        numerals: (0.69, 0.13),
        text: vec![("OIL", 0.0, -0.45, 0.13), ("TEMP", 0.02, -0.63, 0.1), ("°C", 0.0, 0.36, 0.12)],
        zone: Some(([140.0, 160.0], [0.79, 0.83], [200.0, 30.0, 25.0])),
        needle: Needle {
            tip: 0.9,
            tail: 0.2,
            half: [0.034, 0.012],
            height: 0.1,
            colour: [235.0, 105.0, 35.0],
            hub: 0.12,
            hub_colour: [45.0, 45.0, 48.0],
        },
        shadow: None,
        rim: 1.28,
        bezel: Some((0.14, 0.2, [88.0, 88.0, 92.0])),
        minor: true,
        dots: false,
        bare: None,
        cut: None,
    }
}

/// Dark on light, a black needle with its shadow beside it, 270° clockwise past the bottom, a bent scale, numerals outside.
pub fn day() -> Plan {
    let labels = steps(50.0, 150.0, 20.0);
    Plan {
        name: "day",
        unit: Unit::C,
        printed: labels.clone(),
        labels,
        parts: 4,
        ends: [-225.0, 45.0],
        bend: 0.18,
        squeeze: 0.0,
        paper: [226.0, 224.0, 214.0],
        print: [28.0, 28.0, 34.0],
        dash: [96.0, 88.0, 80.0],
        numerals: (1.17, 0.14),
        text: vec![("F", 0.52, 0.14, 0.12), ("AXLE", 0.0, 0.4, 0.13), ("C°", -0.42, -0.3, 0.1)],
        zone: None,
        needle: Needle {
            tip: 0.95,
            tail: 0.24,
            half: [0.03, 0.014],
            height: 0.09,
            colour: [20.0, 20.0, 24.0],
            hub: 0.11,
            hub_colour: [40.0, 40.0, 44.0],
        },
        shadow: Some(Shadow { shift: (0.05, -0.045), depth: 0.4, soft: 0.03 }),
        rim: 1.4,
        bezel: None,
        minor: true,
        dots: false,
        bare: None,
        cut: None,
    }
}

/// Cream on blue, a white needle, 100° clockwise across the bottom (angles pass 180°), three numbers and two ticks.
pub fn few() -> Plan {
    let labels = vec![100.0, 200.0, 300.0];
    Plan {
        name: "few",
        unit: Unit::F,
        printed: labels.clone(),
        labels,
        parts: 2,
        ends: [130.0, 230.0],
        bend: 0.0,
        squeeze: 0.0,
        paper: [28.0, 52.0, 104.0],
        print: [236.0, 230.0, 196.0],
        dash: [30.0, 30.0, 32.0],
        numerals: (0.66, 0.16),
        text: vec![("°F", -0.05, 0.86, 0.16), ("GEAR", -0.4, 0.5, 0.17), ("OIL", 0.42, 0.24, 0.15), ("X4", 0.5, 0.62, 0.12)],
        zone: Some(([250.0, 300.0], [1.06, 1.12], [220.0, 60.0, 40.0])),
        needle: Needle {
            tip: 0.88,
            tail: 0.1,
            half: [0.04, 0.014],
            height: 0.13,
            colour: [250.0, 250.0, 250.0],
            hub: 0.2,
            hub_colour: [16.0, 16.0, 18.0],
        },
        shadow: None,
        rim: 1.3,
        bezel: None,
        minor: true,
        dots: false,
        bare: None,
        cut: None,
    }
}

/// Black on yellow, a red needle, 100° *anticlockwise* over the top, an even scale of six numbers.
pub fn back() -> Plan {
    let labels = steps(20.0, 120.0, 20.0);
    Plan {
        name: "back",
        unit: Unit::C,
        printed: labels.clone(),
        labels,
        parts: 2,
        ends: [50.0, -50.0],
        bend: 0.0,
        squeeze: 0.0,
        paper: [214.0, 190.0, 96.0],
        print: [22.0, 20.0, 18.0],
        dash: [40.0, 44.0, 40.0],
        numerals: (0.73, 0.13),
        text: vec![("TEMP", 0.0, -0.42, 0.18), ("°C", 0.62, -0.2, 0.16), ("A7", -0.6, -0.3, 0.13), ("M3", 0.3, -0.72, 0.12)],
        zone: None,
        needle: Needle {
            tip: 0.93,
            tail: 0.16,
            half: [0.032, 0.012],
            height: 0.11,
            colour: [176.0, 24.0, 20.0],
            hub: 0.13,
            hub_colour: [30.0, 30.0, 30.0],
        },
        shadow: Some(Shadow { shift: (-0.03, -0.05), depth: 0.25, soft: 0.05 }),
        rim: 1.3,
        bezel: Some((0.12, 0.16, [30.0, 30.0, 32.0])),
        minor: true,
        dots: false,
        bare: None,
        cut: None,
    }
}
