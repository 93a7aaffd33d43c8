//! How well heads suit each other as the heads of one valve: the flow they draw together, and their kinds.
//!
//! The supply's usable flow c is one number for the whole site. A zone of heads that draw q together has the share
//! x = q / c; it weighs exp(-(x - fill)^2 / 2 s^2) with one spread s below and one above. c is known or log-normal, and
//! is summed over with the zones: it is what they share. Heads of a second kind on a zone cost `mixed_kinds_factor`.

use super::notes::log_sum;
use crate::settings::Settings;
use crate::site::document::HeadKind;
use crate::site::{Head, Site};

/// Flow of a full-circle spray head of this throw: 3.70 gpm at 15 ft; matched families scale with arc and with the square
/// of the throw (python/docs/trade-values.md, 3.6b).
const SPRAY_L_S: f64 = 0.233;
const SPRAY_THROW_M: f64 = 4.572;

/// Flow of a full-circle rotor of this throw: 6 gpm at 30 ft, the worked row of precipitation rates
/// (python/docs/trade-values.md, 8.6) and the top of the range of rotors (3.7); 30 ft is the usual throw (3.2). Rotors are
/// nozzled so that the water on each square metre is alike (one application rate for a valve, 3.5), hence by arc and by the
/// square of the throw as sprays are; that nozzles come in steps is left out. A half circle of that throw, 3 gpm, is also what
/// is taken where nothing is written.
const ROTOR_L_S: f64 = 0.38;
const ROTOR_THROW_M: f64 = 9.144;

/// Arc where none is written, degrees: most heads stand along edges. Common practice, no source.
const USUAL_ARC_DEG: f64 = 180.0;

/// Flows where the document does not say more, litres per second: spray 1.5 gpm (python/docs/trade-values.md, 3.6), bubbler 1
/// gpm, drip point 1 gph (both from memory), others as between spray and rotor. Bubblers and drip points flood or drip at a
/// rate of their own, whatever arc or throw is written of them, and of a head of no known kind neither tells the flow.
const SPRAY_USUAL_L_S: f64 = 0.095;
const BUBBLER_L_S: f64 = 0.063;
const DRIP_L_S: f64 = 0.001;
const OTHER_L_S: f64 = 0.13;

/// Places of the supply's flow in standard deviations, with weights: five-point Gauss-Hermite rule.
const NODES: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_7),
    (-1.355_626_179_974_266, 0.222_075_922_005_613),
    (0.0, 0.533_333_333_333_333),
    (1.355_626_179_974_266, 0.222_075_922_005_613),
    (2.856_970_013_872_806, 0.011_257_411_327_720_7),
];

/// What a zone's heads draw, and of which kinds they are.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Draught {
    /// Flow, litres per second.
    pub flow_l_s: f64,
    /// Bit k: there is a head of kind k. Kind `other` counts as any.
    kinds: u8,
}

/// Log weights at each place of the supply's flow; where the flow is known only the first counts.
pub type Fits = [f64; NODES.len()];

/// The prior of flows of a site.
pub struct Flow {
    heads: Vec<Draught>,
    /// Log weight and litres per second of each place of the supply's flow.
    supply: Vec<(f64, f64)>,
    fill: f64,
    below: f64,
    above: f64,
    log_mixed: f64,
}

impl Flow {
    /// The prior of a site.
    pub fn new(site: &Site) -> Self {
        let Settings { supply_flow_l_s, supply_flow_log_sd, zone_fill, .. } = site.settings;
        let place =
            |&(sd, weight): &(f64, f64)| (f64::ln(weight), supply_flow_l_s * (supply_flow_log_sd * sd).exp());
        let known = vec![(0.0, supply_flow_l_s)];
        Self {
            heads: site.heads.iter().map(draught).collect(),
            supply: if supply_flow_log_sd > 0.0 { NODES.iter().map(place).collect() } else { known },
            fill: zone_fill,
            below: site.settings.zone_fill_sd_below,
            above: site.settings.zone_fill_sd_above,
            log_mixed: site.settings.mixed_kinds_factor.ln(),
        }
    }

    /// What these heads draw together.
    pub fn draught(&self, heads: &[usize]) -> Draught {
        heads.iter().fold(Draught::default(), |all, &head| Draught {
            flow_l_s: all.flow_l_s + self.heads[head].flow_l_s,
            kinds: all.kinds | self.heads[head].kinds,
        })
    }

    /// Log weight of a zone that draws this at each place of the supply's flow; where it may have more heads that nobody saw,
    /// it may fall short.
    pub fn fits(&self, zone: Draught, more_heads: bool) -> Fits {
        let mixed = f64::from(zone.kinds.count_ones().saturating_sub(1)) * self.log_mixed;
        let mut fits = [0.0; NODES.len()];
        for (fit, (_, supply)) in fits.iter_mut().zip(&self.supply) {
            let share = zone.flow_l_s / supply;
            *fit = mixed + self.fit(if more_heads { share.max(self.fill) } else { share });
        }
        fits
    }

    /// Log weight of all zones from the sum of their fits.
    pub fn log_weight(&self, sums: &Fits) -> f64 {
        let mut logs = [f64::NEG_INFINITY; NODES.len()];
        for ((log, sum), (weight, _)) in logs.iter_mut().zip(sums).zip(&self.supply) {
            *log = weight + sum;
        }
        log_sum(&logs)
    }

    fn fit(&self, share: f64) -> f64 {
        let off = share - self.fill;
        let spread = if off > 0.0 { self.above } else { self.below };
        -0.5 * (off / spread).powi(2)
    }
}

fn draught(head: &Head) -> Draught {
    let usual = match head.kind {
        HeadKind::Spray if head.radius_m.is_none() && head.arc_deg.is_none() => SPRAY_USUAL_L_S,
        HeadKind::Spray => matched(head, SPRAY_L_S, SPRAY_THROW_M),
        HeadKind::Rotor => matched(head, ROTOR_L_S, ROTOR_THROW_M),
        HeadKind::Bubbler => BUBBLER_L_S,
        HeadKind::Drip => DRIP_L_S,
        HeadKind::Other => OTHER_L_S,
    };
    let kinds = if head.kind == HeadKind::Other { 0 } else { 1 << head.kind as u8 };
    Draught { flow_l_s: head.flow_l_s.unwrap_or(usual), kinds }
}

/// Flow of a head of a matched family, of which a full circle of the throw `throw_m` draws `full_l_s`.
fn matched(head: &Head, full_l_s: f64, throw_m: f64) -> f64 {
    let throw = head.radius_m.map_or(1.0, |radius| radius / throw_m);
    full_l_s * throw * throw * head.arc_deg.unwrap_or(USUAL_ARC_DEG) / 360.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::document::HeadEntry;
    use crate::site::{Document, Units};
    use approx::assert_relative_eq;

    fn site(kinds: &[HeadKind], sets: &[(&str, f64)]) -> Site {
        let mut document = Document::new(Units::Metres);
        let head = |(k, &kind): (usize, &HeadKind)| HeadEntry {
            id: format!("h{k}"),
            x: k as f64,
            y: 0.0,
            kind: Some(kind),
            zone: Some("1".to_owned()),
            sd: None,
            accuracy_95: None,
            radius: None,
            arc_deg: (kind == HeadKind::Spray).then_some(90.0),
            flow: (kind == HeadKind::Drip).then_some(0.7),
        };
        document.heads = kinds.iter().enumerate().map(head).collect();
        document.settings = sets.iter().map(|(name, value)| ((*name).to_owned(), *value)).collect();
        Site::new(document).expect("a good document")
    }

    #[test]
    fn flows_are_those_of_the_tables() {
        let flow = Flow::new(&site(&[HeadKind::Spray, HeadKind::Rotor, HeadKind::Drip], &[]));
        let of = |head: usize| flow.draught(&[head]).flow_l_s;
        assert_relative_eq!(of(0), 0.233 / 4.0, epsilon = 1e-12); // quarter circle: 0.92 gpm = 0.058 L/s in the table
        assert_relative_eq!(of(1), 3.0 * 0.063_090_2, max_relative = 0.01);
        assert_relative_eq!(of(2), 0.7); // what is written wins
        assert_relative_eq!(flow.draught(&[0, 1, 2]).flow_l_s, of(0) + of(1) + of(2));
    }

    /// Rows of the tables, gpm: matched sprays (python/docs/trade-values.md, 3.6b, printed to 0.01) and the rotor of 8.6 with
    /// its parts.
    #[test]
    fn flow_follows_arc_and_throw() {
        const GPM_L_S: f64 = 0.063_090_2;
        const FOOT_M: f64 = 0.3048;
        let one = |kind, throw_ft: Option<f64>, arc_deg: Option<f64>| {
            let mut document = Document::new(Units::Metres);
            let (id, zone) = ("h".to_owned(), Some("1".to_owned()));
            let radius = throw_ft.map(|feet| feet * FOOT_M);
            let kind = Some(kind);
            document.heads.push(HeadEntry {
                id,
                x: 0.0,
                y: 0.0,
                kind,
                zone,
                sd: None,
                accuracy_95: None,
                radius,
                arc_deg,
                flow: None,
            });
            Flow::new(&Site::new(document).expect("a good document")).draught(&[0]).flow_l_s / GPM_L_S
        };
        let (spray, rotor) = (HeadKind::Spray, HeadKind::Rotor);
        for (kind, throw_ft, arc_deg, gpm, off) in [
            (spray, Some(15.0), Some(360.0), 3.70, 0.01),
            (spray, Some(15.0), Some(90.0), 0.92, 0.01),
            (spray, Some(12.0), Some(180.0), 1.30, 0.12),
            (spray, Some(10.0), Some(360.0), 1.58, 0.07),
            (rotor, Some(30.0), Some(360.0), 6.0, 0.03),
            (rotor, Some(30.0), Some(180.0), 3.0, 0.02),
            (rotor, None, Some(90.0), 1.5, 0.01),
            (rotor, Some(40.0), None, 3.0 * 16.0 / 9.0, 0.03),
            (rotor, None, None, 3.0, 0.02),
        ] {
            let found = one(kind, throw_ft, arc_deg);
            assert!(
                (found - gpm).abs() <= off,
                "{kind:?} {throw_ft:?} ft {arc_deg:?}: {found} gpm, not {gpm}"
            );
        }
        // The same depth of water whatever the arc: 6 gpm on 30 ft triangular is 0.7409 in/h (8.6).
        let rate = 96.25 * one(rotor, Some(30.0), Some(360.0)) / (30.0 * 25.981);
        assert_relative_eq!(rate, 0.7409, max_relative = 0.005);
        for kind in [HeadKind::Bubbler, HeadKind::Drip, HeadKind::Other] {
            assert_relative_eq!(one(kind, Some(15.0), Some(90.0)), one(kind, None, None));
        }
    }

    #[test]
    fn supply_is_summed_over_and_second_kinds_cost() {
        let below = ("zone_fill_sd_below", 0.3);
        let known = [("supply_flow_l_s", 1.0), ("supply_flow_log_sd", 0.0), ("zone_fill", 0.5), below];
        let flow =
            Flow::new(&site(&[HeadKind::Rotor, HeadKind::Rotor, HeadKind::Spray, HeadKind::Other], &known));
        let weight = |zones: &[&[usize]]| {
            let mut sums = Fits::default();
            for heads in zones {
                sums.iter_mut().zip(flow.fits(flow.draught(heads), false)).for_each(|(sum, fit)| *sum += fit);
            }
            flow.log_weight(&sums)
        };
        let fit = |q: f64, s: f64| -0.5 * ((q - 0.5) / s).powi(2);
        assert_relative_eq!(weight(&[&[0], &[1]]), 2.0 * fit(0.19, 0.3), epsilon = 1e-12);
        assert_relative_eq!(weight(&[&[0, 2]]), fit(0.19 + 0.233 / 4.0, 0.3) + 0.01f64.ln(), epsilon = 1e-12);
        assert_relative_eq!(weight(&[&[0, 3]]), fit(0.32, 0.3), epsilon = 1e-12);
        // The rule integrates exp(-x^2 / 2 s^2)-like weights over the supply: against a fine sum.
        let open = Flow::new(&site(&[HeadKind::Rotor; 4], &[]));
        let zone = open.draught(&[0, 1, 2, 3]);
        let (steps, wide) = (4_000, 6.0);
        let sum: f64 = (0..steps)
            .map(|k| {
                let z = wide * (2.0 * (f64::from(k) + 0.5) / f64::from(steps) - 1.0);
                let share = zone.flow_l_s / (0.82 * (0.28 * z).exp());
                (-0.5 * z * z + open.fit(share)).exp()
            })
            .sum::<f64>()
            * (2.0 * wide / f64::from(steps) / std::f64::consts::TAU.sqrt());
        assert_relative_eq!(open.log_weight(&open.fits(zone, false)).exp(), sum, max_relative = 0.15);
    }
}
