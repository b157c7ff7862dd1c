//! The pictures at a position: each response, power, and the maps of stages, with the place of the moment.

use super::loaded::{Drawn, Loaded};
use super::position::Position;
use super::sentence::measured;
use plot::figure::Figure;
use plot::svg::{self, Here};
use response::characteristic::Points;
use response::operating_point::OperatingPoint;
use settings_model::exact::Exact;
use settings_model::quantity::Dimension;
use std::rc::Rc;
use views::curve::series::level;
use views::curve::subjects::{HeldCurve, Subject};
use views::report::curve::number;
use views::trip_map::map::Map;

/// A response with the place of the moment.
pub fn response(drawn: &Drawn, loaded: &Loaded, position: &Position, point: &OperatingPoint, id: &str) -> String {
    let x = place(drawn, loaded, position, point);
    let [measured, follows] = drawn.shown.response.axes.map(|axis| axis.dimension);
    let here = acting(&drawn.shown.subjects[0])
        .and_then(|points| level(points, x))
        .map(|level| Here { at: (number(x), number(level)), label: format!("{} at {}", follows.show(level.rounded(1)), measured.show(x)) });
    svg::pane(&drawn.figure, here.as_slice(), id)
}

/// Where on the measured axis of a response the position lies.
pub fn place(drawn: &Drawn, loaded: &Loaded, position: &Position, point: &OperatingPoint) -> Exact {
    match drawn.shown.response.axes[0].dimension {
        Dimension::Voltage => position.voltage,
        Dimension::Frequency => position.frequency,
        _ => {
            let percent = point.active / loaded.operating.device.ratings.percent_active * 100.0;
            Exact::nearest(percent, 2).unwrap_or_default()
        }
    }
}

/// The curve that acts: what the device holds, or what stands for it; none where it is switched off.
pub fn acting(subject: &Subject) -> Option<&Points> {
    match &subject.held {
        HeldCurve::Points(points) => Some(points),
        HeldCurve::NoDevice | HeldCurve::ByRegion if !subject.must_be_idle => subject.required.as_ref(),
        _ => None,
    }
}

/// Active and reactive power against voltage, at this frequency and with this power available.
pub fn power(loaded: &Loaded, position: &Position, point: &OperatingPoint, id: &str) -> String {
    let figure = power_figure(loaded, position);
    let here = |power: f64, unit: &str| Here {
        at: (position.voltage.approximate(), power / 1000.0),
        label: format!("{} {unit}", Exact::nearest(power / 1000.0, 2).unwrap_or_default()),
    };
    svg::pane(&figure, &[here(point.active, "kW"), here(point.reactive, "kvar")], id)
}

/// The picture without the place of the moment; kept while only the voltage moves.
pub fn power_figure(loaded: &Loaded, position: &Position) -> Rc<Figure> {
    let conditions = position.conditions();
    let key = [conditions.frequency, conditions.available];
    if let Some((_, figure)) = loaded.power.borrow().as_ref().filter(|(kept, _)| *kept == key) {
        return figure.clone();
    }
    let mut voltages = loaded.operating.bends();
    let air = loaded.operating.nominal * if voltages.len() > 1 { Exact::new(3, 2) } else { Exact::new(1, 1) };
    let ends = [voltages.first(), voltages.last()].map(|end| end.copied().unwrap_or(loaded.operating.nominal));
    voltages.insert(0, ends[0] - air);
    voltages.push(ends[1] + air);
    let figure = Rc::new(loaded.operating.figure(&conditions, &voltages));
    *loaded.power.borrow_mut() = Some((key, figure.clone()));
    figure
}

/// A map of stages with the value of the moment.
pub fn map(map: &Map, loaded: &Loaded, position: &Position, id: &str) -> String {
    let (value, _) = measured(loaded, position, map.measured());
    svg::map_pane(&map.picture(), Some((number(value), &map.measured().show(value))), id)
}
