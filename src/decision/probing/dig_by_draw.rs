//! A dig at one place in every draw: whether it is struck, what that costs, and what conflicts of its tree cost.

use super::cut::{Cut, Hit, loss, strike, widened};
use crate::class::Class;
use crate::decision::dig::{footprint, look};
use crate::decision::loss::Weights;
use crate::decision::surroundings::ANY_DEPTH_M;
use crate::decision::tree_rules::{Asked, TreeRules};
use crate::geometry::Footprint;
use crate::inference::Layouts;
use crate::site::Dig;
use crate::strike::{Observation, mean_beyond};

/// A dig at one place, draw by draw.
pub struct DigByDraw {
    /// Chance of a strike: 0 or 1 but for unknown lines.
    pub strikes: Vec<f64>,
    /// Loss by strikes alone.
    pub struck: Vec<f64>,
    /// Loss by strikes and by conflicts of its tree.
    pub losses: Vec<f64>,
    /// Chance that a line lies within the setback of its tree; `None` without one.
    pub p_setback: Option<f64>,
}

/// The setback of the tree of a dig in each draw.
struct Conflicts {
    losses: Vec<f64>,
    p: f64,
}

impl DigByDraw {
    /// Looks at a dig in every draw. `radii` are those of all pipes.
    pub fn new(layouts: &Layouts, dig: &Dig, weights: &Weights, rules: &TreeRules, radii: &[f32]) -> Self {
        let unmet = unmet(layouts, &look(dig));
        let by_class = weights.of(dig.method, layouts.assessed());
        let widened = widened(&footprint(dig), radii);
        let cut = Cut::new(&widened, dig.depth_m);
        let of_draw = |k: usize| {
            let hit = cut.classes(layouts.pieces().draw(k));
            (strike(&hit, unmet), loss(&hit, unmet, &by_class))
        };
        let (strikes, struck): (Vec<f64>, Vec<f64>) = (0..layouts.pieces().draws()).map(of_draw).unzip();
        let Some(plant) = &dig.tree else {
            return Self { strikes, losses: struck.clone(), struck, p_setback: None };
        };
        let asked = Asked::of_tree(rules, plant, weights);
        let roots = asked.roots_loss(layouts.site(), dig.stem());
        let conflicts = conflicts(layouts, dig, &asked, radii);
        let further = |k: usize| roots + conflicts.as_ref().map_or(0.0, |it| it.losses[k]);
        let losses = struck.iter().enumerate().map(|(k, struck)| struck + further(k)).collect();
        Self { strikes, struck, losses, p_setback: conflicts.map(|it| it.p) }
    }
}

/// Chance that no unknown line is met.
fn unmet(layouts: &Layouts, look: &Observation) -> f64 {
    let clear: Vec<&Observation> = layouts.findings().clear.iter().collect();
    (-mean_beyond(layouts.prior().unmapped_lines(), look, &clear)).exp()
}

/// Lines within the setback in every draw.
fn conflicts(layouts: &Layouts, dig: &Dig, asked: &Asked<'_>, radii: &[f32]) -> Option<Conflicts> {
    let setback = asked.setback?;
    let (draws, stem) = (layouts.pieces().draws(), dig.stem());
    let (mut losses, mut clear) = (vec![0.0; draws], vec![1.0; draws]);
    for (radius, classes) in setback.rings() {
        let ring = Footprint::disc(stem, radius);
        let unmet = unmet(layouts, &Observation::dig(ring.clone(), ANY_DEPTH_M));
        let widened = widened(&ring, radii);
        let cut = Cut::new(&widened, ANY_DEPTH_M);
        let counts = |class: Class| classes.contains(&class) && layouts.assessed()[class as usize];
        let weight: [f64; Class::ALL.len()] =
            Class::ALL.map(|class| if counts(class) { asked.conflict_weight(class) } else { 0.0 });
        for k in 0..draws {
            let mut hit: Hit = cut.classes(layouts.pieces().draw(k));
            Class::ALL.into_iter().filter(|class| !counts(*class)).for_each(|c| hit[c as usize] = false);
            let unmet = if counts(Class::Unknown) { unmet } else { 1.0 };
            losses[k] += loss(&hit, unmet, &weight);
            clear[k] *= 1.0 - strike(&hit, unmet);
        }
    }
    let p = 1.0 - clear.iter().sum::<f64>() / draws.max(1) as f64;
    Some(Conflicts { losses, p })
}
