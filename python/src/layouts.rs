//! Sampled layouts: drawn, kept behind one shared pointer, and handed out as columns.

use crate::decisions::{self, Given};
use crate::digs::{PyDig, method_of};
use crate::errors::BindingError;
use crate::guard::detached;
use crate::map::{DigMaps, PyStrikeMap, class_mask};
use crate::metal;
use crate::monitor::Run;
use crate::plans;
use crate::site::PySite;
use crate::stakes;
use crate::strike::{assessments, form, strikes};
use crate::zones;
use numpy::{IntoPyArray, PyArray1, PyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::num::NonZeroUsize;
use std::sync::Arc;
use underturf::decision::{
    self, Known, PlaceOptions, ProbePlan, RankOptions, SpotHole, SpotOptions, TreeRules,
};
use underturf::effort::Effort;
use underturf::inference::posterior::Limits;
use underturf::inference::{Layouts, RunBudget, SampleOptions, sample_layouts_within};
use underturf::layout::Piece;
use underturf::mcmc::diagnostics::Thresholds;
use underturf::site::direction::{QUARTER_TURN_DEG, azimuth_deg};
use underturf::site::{Dig, Probe};
use underturf::staking;

/// Sampled layouts of one site.
#[pyclass(name = "Layouts", module = "underturf._core", frozen)]
pub struct PyLayouts(Arc<Layouts>);

/// Draws layouts of a site. `thresholds` are the limits on R-hat, effective size, and the standard error of a chance (floor and
/// share of it); the engine's own where none are given.
#[pyfunction]
#[pyo3(signature = (site, draws, seed, threads, progress, longest, accept_unconverged, effort, thresholds=None))]
#[allow(clippy::too_many_arguments)] // the arguments of the Python call, and the convergence checks
pub fn sample_layouts(
    py: Python<'_>,
    site: &PySite,
    draws: usize,
    seed: u64,
    threads: Option<NonZeroUsize>,
    progress: Option<Py<PyAny>>,
    longest: usize,
    accept_unconverged: bool,
    effort: f64,
    thresholds: Option<(f64, f64, f64, f64)>,
) -> PyResult<PyLayouts> {
    let site = Arc::clone(&site.0);
    let options = SampleOptions { draws, seed };
    let thresholds = thresholds.map_or_else(Thresholds::default, |(r_hat, ess, mcse_floor, mcse_share)| {
        Thresholds { r_hat, ess, mcse_floor, mcse_share }
    });
    let effort = (effort * Effort::USUAL as f64) as u64; // a greater one than can be counted is the greatest
    let budget = RunBudget { longest, accept_unconverged, thresholds, effort };
    let layouts = Run { threads, progress }.run(py, |relay| {
        sample_layouts_within(&site, &options, Limits::default(), &budget, relay).map_err(BindingError::from)
    })?;
    Ok(PyLayouts(Arc::new(layouts)))
}

/// A probe of a site by its number.
fn probe_of(site: &PySite, number: usize) -> PyResult<&Probe> {
    let known = site.0.probes.len();
    site.0
        .probes
        .get(number)
        .ok_or_else(|| BindingError::NoSuchNumber { what: "probe", number, known }.into())
}

#[pymethods]
impl PyLayouts {
    #[getter]
    fn draws(&self) -> usize {
        self.0.draws().len()
    }

    #[getter]
    fn seed(&self) -> u64 {
        self.0.seed()
    }

    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings().to_vec()
    }

    /// For each class, whether the document holds evidence of it.
    #[getter]
    fn assessed(&self) -> Vec<bool> {
        self.0.assessed().to_vec()
    }

    /// Names of the systems of lines, and of what belongs to none.
    #[getter]
    fn systems(&self) -> Vec<String> {
        self.0.system_names()
    }

    /// Most work that sampling was allowed, as a multiple of what is shipped.
    #[getter]
    fn effort(&self) -> f64 {
        self.0.effort() as f64 / Effort::USUAL as f64
    }

    /// Work that sampling took, in the same measure.
    #[getter]
    fn effort_spent(&self) -> f64 {
        self.0.work() as f64 / Effort::USUAL as f64
    }

    /// Effective number of independent draws.
    #[getter]
    fn effective_draws(&self) -> f64 {
        self.0.effective_draws()
    }

    /// Azimuths of the grid, degrees from 0 to 90, with their probabilities given all evidence and before any probe.
    #[getter]
    fn bearings(&self) -> Vec<(f64, f64, f64)> {
        let both = self.0.bearings().iter().zip(self.0.bearings_before_probes());
        let turned = self.0.site().y_azimuth_deg();
        let azimuth = |angle_rad| azimuth_deg(angle_rad, turned, QUARTER_TURN_DEG);
        both.map(|(now, before)| (azimuth(now.rad), now.probability, before.probability)).collect()
    }

    /// Chance of the result of a probe of another site, given everything so far.
    fn chance_of_probe(&self, py: Python<'_>, site: &PySite, probe: usize) -> PyResult<f64> {
        let probe = probe_of(site, probe)?;
        detached(py, || Ok::<_, BindingError>(self.0.chance_of_probe(probe)))
    }

    /// The same of a find without false finds and unknown lines: what the known systems of lines give for it.
    fn chance_by_known_lines(&self, py: Python<'_>, site: &PySite, probe: usize) -> PyResult<f64> {
        let probe = probe_of(site, probe)?;
        detached(py, || Ok::<_, BindingError>(self.0.chance_by_known_lines(probe)))
    }

    /// Whether chains over zonings passed their convergence checks; None where draws are independent.
    #[getter]
    fn passed(&self) -> Option<bool> {
        self.0.convergence().map(|convergence| convergence.passed)
    }

    /// How chains over zonings went; None where draws are independent.
    fn convergence<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyDict>>> {
        self.0.convergence().map(|convergence| zones::convergence(py, convergence)).transpose()
    }

    /// Names of the zones of the site.
    #[getter]
    fn zone_names(&self) -> Vec<String> {
        self.0.site().zones.iter().map(|zone| zone.name.clone()).collect()
    }

    /// Names of zones that cannot be told apart, two or more each.
    #[getter]
    fn exchangeable_zones(&self) -> Vec<Vec<String>> {
        let zones = &self.0.site().zones;
        let names = |alike: Vec<usize>| alike.into_iter().map(|zone| zones[zone].name.clone()).collect();
        decision::exchangeable_zones(self.0.site()).into_iter().map(names).collect()
    }

    /// For each head, what its zone is called in the zoning of that number.
    fn group_names(&self, zoning: usize) -> PyResult<Vec<String>> {
        let zonings = self.0.zonings();
        let refused = BindingError::NoSuchNumber { what: "zoning", number: zoning, known: zonings.len() };
        Ok(decision::group_names(self.0.site(), zonings.get(zoning).ok_or(refused)?))
    }

    /// Ids of the heads.
    #[getter]
    fn heads(&self) -> Vec<String> {
        self.0.site().heads.iter().map(|head| head.id.clone()).collect()
    }

    /// The zone of every head in each zoning, shape (zonings, heads), and the shares of these.
    fn zonings<'py>(&self, py: Python<'py>) -> (Bound<'py, PyArray2<i64>>, Bound<'py, PyArray1<f64>>) {
        zones::zonings(py, &self.0)
    }

    /// Every piece of every draw, as columns; zone, class and kind as codes.
    fn segments<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let pieces = self.0.pieces();
        let all = pieces.all();
        let draw = (0..pieces.draws()).flat_map(|k| std::iter::repeat_n(k as i64, pieces.draw(k).len()));
        let columns = PyDict::new(py);
        columns.set_item("draw", draw.collect::<Vec<_>>().into_pyarray(py))?;
        columns.set_item("zone", column(py, all, |piece| i16::try_from(piece.system).unwrap_or(i16::MAX)))?;
        columns.set_item("class", column(py, all, |piece| piece.class as i8))?;
        columns.set_item("kind", column(py, all, |piece| piece.kind as i8))?;
        columns.set_item("x0_m", column(py, all, |piece| piece.a.x))?;
        columns.set_item("y0_m", column(py, all, |piece| piece.a.y))?;
        columns.set_item("x1_m", column(py, all, |piece| piece.b.x))?;
        columns.set_item("y1_m", column(py, all, |piece| piece.b.y))?;
        columns.set_item("cover_m", column(py, all, |piece| f64::from(piece.cover_m)))?;
        columns.set_item("diameter_m", column(py, all, |piece| 2.0 * f64::from(piece.radius_m)))?;
        columns.set_item("wire", column(py, all, |piece| piece.wire))?;
        Ok(columns)
    }

    /// Chances of digs, as columns.
    fn strike<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<PyRef<'py, PyDig>>,
        form: &str,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let (digs, form) = (owned(&digs), self::form(form)?);
        let found = Run { threads, progress }.run(py, |relay| {
            decision::strike_probability(&self.0, &digs, form, relay).map_err(BindingError::from)
        })?;
        strikes(py, &digs, &found)
    }

    /// What is known to lie where each dig is: `tolerance_zone`, the name of flagged metal, or nothing.
    fn known_there(&self, py: Python<'_>, digs: Vec<PyRef<'_, PyDig>>) -> PyResult<Vec<Option<String>>> {
        let (digs, site) = (owned(&digs), self.0.site());
        let of = |dig: &Dig| match decision::known(site, dig)? {
            Known::ToleranceZone => Some("tolerance_zone".to_owned()),
            Known::FlaggedMetal => {
                let near = decision::flags_near(site, dig).into_iter().find(|near| near.inside)?;
                Some(site.keep_offs[near.keep_off].in_words())
            }
        };
        detached(py, || Ok::<_, BindingError>(digs.iter().map(of).collect()))
    }

    /// Assessments of digs, as columns, and what stands against their trees, as `tree_conflicts` has it.
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn assess<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<PyRef<'py, PyDig>>,
        weights: Given,
        rules: (String, f64),
        reach_m: f64,
        cell_m: f64,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<(Bound<'py, PyDict>, Bound<'py, PyDict>)> {
        let digs = owned(&digs);
        let options = places(&weights, &rules, reach_m, cell_m)?;
        let found = Run { threads, progress }.run(py, |relay| {
            decision::assess_by(&self.0, &digs, &options, relay).map_err(BindingError::from)
        })?;
        let site = self.0.site();
        let trees = decisions::conflicts(py, site, &digs, found.iter().map(|one| one.tree.as_ref()))?;
        Ok((assessments(py, site, &digs, &found)?, trees))
    }

    /// What stands against the trees of digs, as columns; digs without a tree are left out.
    fn tree_conflicts<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<PyRef<'py, PyDig>>,
        setback: &str,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let (digs, setback) = (owned(&digs), decisions::setback(setback)?);
        let rules = TreeRules { setback, ..TreeRules::default() };
        let found = Run { threads, progress }.run(py, |relay| {
            decision::tree_conflicts(&self.0, &digs, &rules, relay).map_err(BindingError::from)
        })?;
        decisions::conflicts(py, self.0.site(), &digs, found.iter().map(Option::as_ref))
    }

    /// Digs in order of expected loss or chance, as columns; further draws up to `longest_draws`, where given.
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn rank<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<PyRef<'py, PyDig>>,
        weights: Given,
        by: &str,
        longest_draws: Option<usize>,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let digs = owned(&digs);
        let options = RankOptions { weights: decisions::weights(&weights)?, by: decisions::by(by)? };
        let found = Run { threads, progress }.run(py, |relay| {
            match longest_draws {
                Some(longest) => decision::rank_until_distinct(&self.0, &digs, &options, longest, relay),
                None => decision::rank(&self.0, &digs, &options, relay),
            }
            .map_err(BindingError::from)
        })?;
        decisions::ranking(py, &digs, &found)
    }

    /// Spots of least total loss, as columns, with total, lower bound, whether exact, and the number of candidates. A hole is
    /// its name, radius, depth, a dig with its tree, and whether a setback counts without one; `margins_m` are spacing, gap,
    /// distance from the boundary and side of a cell; `rules` setback, greatest chance of a line within it, the shares of
    /// conflicts with setback and roots, whether protected roots are spared, and the distance from buildings.
    #[allow(clippy::too_many_arguments, clippy::type_complexity)] // the arguments of the Python call
    fn best_spots<'py>(
        &self,
        py: Python<'py>,
        holes: Vec<(Option<String>, f64, f64, Option<PyRef<'py, PyDig>>, bool)>,
        margins_m: (f64, Option<f64>, f64, f64),
        weights: Given,
        method: &str,
        within: Option<PyRef<'py, PyDig>>,
        rules: (String, f64, f64, f64, bool, f64),
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let hole = |(id, radius_m, depth_m, tree, keeps): (_, f64, f64, Option<PyRef<'py, PyDig>>, bool)| {
            let tree = tree.and_then(|dig| dig.0.tree);
            SpotHole { id, radius_m, depth_m, keeps_setback: keeps || tree.is_some(), tree }
        };
        let plain = SpotOptions::of(holes.into_iter().map(hole).collect());
        let (setback, setback_limit, setback_share, roots_share, spare_roots, from_building_m) = rules;
        let (spacing_m, gap_m, from_boundary_m, cell_m) = margins_m;
        let options = SpotOptions {
            spacing_m,
            gap_m: gap_m.unwrap_or(plain.gap_m),
            from_boundary_m,
            cell_m,
            weights: decisions::weights(&weights)?,
            method: method_of(method)?,
            within: within.and_then(|pit| decisions::outline(&pit.0)),
            rules: TreeRules {
                setback: decisions::setback(&setback)?,
                setback_limit,
                setback_share,
                roots_share,
                spare_roots,
                from_building_m,
            },
            ..plain
        };
        let found = Run { threads, progress }
            .run(py, |relay| decision::best_spots(&self.0, &options, relay).map_err(BindingError::from))?;
        decisions::spots(py, &found)
    }

    /// Tables of metal lines, of stations along them, of flags and of crossings, as columns; checks that were not passed.
    fn metal<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let found = py.detach(|| metal::summary(&self.0));
        metal::tables(py, &self.0, found.as_ref())
    }

    /// Stations of likely lines, as columns.
    fn likely_lines<'py>(
        &self,
        py: Python<'py>,
        least_chance: f64,
        step_m: f64,
        reach_m: f64,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let options = staking::LineOptions { least_chance, step_m, reach_m };
        let found = Run { threads, progress }
            .run(py, |relay| staking::likely_lines(&self.0, &options, relay).map_err(BindingError::from))?;
        stakes::lines(py, &self.0, &found)
    }

    /// A plan of probes: rows, outcomes for every dig, and what else is known of it. `tool` is the slit's length and width,
    /// whether a rod is used, the chances to detect and to be wrong; `grid_m` reach, cell and greatest
    /// shift of a dig; `costs` the share for careful hands and the fixed cost.
    #[allow(clippy::too_many_arguments, clippy::type_complexity)] // the arguments of the Python call
    fn plan_probes<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<PyRef<'_, PyDig>>,
        n: usize,
        radius_m: f64,
        depth_m: Option<f64>,
        tool: (Option<(f64, f64)>, bool, Option<f64>, Option<f64>),
        objective: &str,
        grid_m: (f64, Option<f64>, f64),
        weights: Given,
        rules: (String, f64),
        costs: (f64, f64),
        always: bool,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let digs = owned(&digs);
        let (slit_m, rod, p_detect, p_false) = tool;
        let plan = ProbePlan {
            n,
            objective: plans::objective(objective)?,
            radius_m,
            slit_m,
            rod,
            depth_m,
            p_detect,
            p_false,
            reach_m: grid_m.0,
            cell_m: grid_m.1,
            shift_m: grid_m.2,
            weights: decisions::weights(&weights)?,
            rules: decisions::rules((&rules.0, rules.1))?,
            careful: costs.0,
            probe_cost: costs.1,
            always,
        };
        let found = Run { threads, progress }.run(py, |relay| {
            decision::plan_probes(&self.0, &digs, &plan, relay).map_err(BindingError::from)
        })?;
        plans::probes(py, self.0.site(), &digs, &found)
    }

    /// Valves to run, in order: rows and notes.
    fn plan_station_tests<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<PyRef<'_, PyDig>>,
        weights: Given,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let (digs, weights) = (owned(&digs), decisions::weights(&weights)?);
        let found = Run { threads, progress }.run(py, |relay| {
            decision::plan_station_tests(&self.0, &digs, &weights, relay).map_err(BindingError::from)
        })?;
        plans::stations(py, self.0.site(), &found)
    }

    /// Map of round holes over the site.
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn strike_map(
        &self,
        py: Python<'_>,
        radius_m: f64,
        depth_m: f64,
        cell_m: f64,
        classes: Option<Vec<String>>,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<PyStrikeMap> {
        let mask = classes.map(|names| class_mask(&names)).transpose()?;
        let found = Run { threads, progress }.run(py, |relay| {
            decision::strike_map(&self.0, radius_m, depth_m, cell_m, mask, relay).map_err(BindingError::from)
        })?;
        Ok(PyStrikeMap::new(py, found))
    }

    /// The digs where their best shifts lead.
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn shifted(
        &self,
        py: Python<'_>,
        digs: Vec<PyRef<'_, PyDig>>,
        reach_m: f64,
        cell_m: f64,
        weights: Given,
        rules: (String, f64),
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Vec<PyDig>> {
        let (digs, options) = (owned(&digs), places(&weights, &rules, reach_m, cell_m)?);
        let found = Run { threads, progress }.run(py, |relay| {
            decision::shifted(&self.0, &digs, &options, relay).map_err(BindingError::from)
        })?;
        Ok(found.into_iter().map(PyDig).collect())
    }

    /// Map round each dig, moved, and its best shift.
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn dig_maps(
        &self,
        py: Python<'_>,
        digs: Vec<PyRef<'_, PyDig>>,
        reach_m: f64,
        cell_m: f64,
        weights: Given,
        rules: (String, f64),
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<DigMaps> {
        let (digs, options) = (owned(&digs), places(&weights, &rules, reach_m, cell_m)?);
        let found = Run { threads, progress }.run(py, |relay| {
            decision::dig_maps(&self.0, &digs, &options, relay).map_err(BindingError::from)
        })?;
        Ok(found.into_iter().map(|found| PyStrikeMap::with_shift(py, found)).collect())
    }
}

fn places(weights: &Given, rules: &(String, f64), reach_m: f64, cell_m: f64) -> PyResult<PlaceOptions> {
    let rules = decisions::rules((&rules.0, rules.1))?;
    Ok(PlaceOptions { weights: decisions::weights(weights)?, rules, reach_m, cell_m })
}

fn owned(digs: &[PyRef<'_, PyDig>]) -> Vec<Dig> {
    digs.iter().map(|dig| dig.0.clone()).collect()
}

fn column<'py, T: numpy::Element>(
    py: Python<'py>,
    pieces: &[Piece],
    of: impl Fn(&Piece) -> T,
) -> Bound<'py, PyArray1<T>> {
    pieces.iter().map(of).collect::<Vec<T>>().into_pyarray(py)
}
