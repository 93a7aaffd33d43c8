//! What is measured of an explanation.

use underturf::metal::{LegKind, Line, Model, State};

pub const FACTS: [&str; 11] = [
    "log density",
    "lines",
    "stray flags",
    "bends",
    "legs off the axes",
    "first two flags on one line",
    "first flag stray",
    "step of the walk",
    "scatter of flags",
    "grid bearing",
    "chance that the last item lies on wire",
];

pub type Facts = [f64; FACTS.len()];

/// Place of the control wire among the classes.
const WIRE: usize = 1;

pub fn facts(model: &Model, state: &State) -> Facts {
    let with = |item: u16| state.lines.iter().position(|line| line.items().any(|other| other == item));
    let legs = || state.lines.iter().flat_map(|line| &line.legs);
    let on: usize = state.lines.iter().map(|line| line.flags).sum();
    let last = with(model.evidence.items.len() as u16 - 1);
    let (first, second) = (with(0), with(1));
    [
        state.log_density,
        state.lines.len() as f64,
        (model.evidence.flags - on) as f64,
        (legs().count() - state.lines.len()) as f64,
        legs().filter(|leg| leg.kind == LegKind::Any).count() as f64,
        f64::from(first.is_some() && first == second),
        f64::from(first.is_none()),
        state.shared.step as f64,
        state.shared.scale as f64,
        state.shared.bearing as f64,
        last.map_or(0.0, |line| state.lines[line].class_chances()[WIRE]),
    ]
}

/// The same explanation by the density of another model, where it is one.
pub fn again(model: &Model, state: &State) -> Option<State> {
    let lines =
        state.lines.iter().map(|line| Line::new(model, line.legs.clone(), state.shared).map(Into::into));
    Some(State::new(model, lines.collect::<Option<_>>()?, state.shared))
}
