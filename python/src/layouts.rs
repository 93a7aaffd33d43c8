//! Sampled layouts: what is asked of them, and the answers as columns.

use crate::decisions::{self, Given};
use crate::digs::{self, PyDig, method_of};
use crate::errors::BindingError;
use crate::guard::detached;
use crate::keep;
use crate::map::{DigMaps, PyStrikeMap, class_mask};
use crate::metal;
use crate::monitor::Run;
use crate::pieces;
use crate::plans;
use crate::site::PySite;
use crate::spots;
use crate::stakes;
use crate::strike::{assessments, form, known_there, strikes};
use crate::zones;
use numpy::{PyArray1, PyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::num::NonZeroUsize;
use underturf::decision::{self, ProbePlan, RankOptions, SpotOptions, TreeRules};
use underturf::effort::Effort;
use underturf::inference::Layouts;
use underturf::site::Probe;
use underturf::site::direction::{QUARTER_TURN_DEG, azimuth_deg};
use underturf::staking;

/// Sampled layouts of one site.
#[pyclass(name = "Layouts", module = "underturf._core", frozen)]
pub struct PyLayouts(Layouts);

impl PyLayouts {
    /// Hands layouts to Python.
    pub fn new(layouts: Layouts) -> Self {
        Self(layouts)
    }
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
        let before = self.0.bearings_before_probes();
        let both = self.0.bearings().iter().zip(&before);
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

    /// Whether chains passed every convergence check: those over zonings, those over metal lines, where there are any.
    #[getter]
    fn passed(&self) -> bool {
        self.0.passed()
    }

    /// Whether layouts are independent draws: no chains over zonings.
    #[getter]
    fn independent(&self) -> bool {
        self.0.convergence().is_none()
    }

    /// How chains over zonings went; None where draws are independent.
    fn convergence<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyDict>>> {
        self.0.convergence().map(|convergence| zones::convergence(py, convergence)).transpose()
    }

    /// Everything that a file has to hold, as columns by their names.
    fn keep<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        keep::kept(py, &self.0)
    }

    /// Layouts of a site from such columns.
    #[staticmethod]
    fn take_up(py: Python<'_>, site: &PySite, columns: &Bound<'_, PyDict>) -> PyResult<Self> {
        keep::taken_up(py, site, columns).map(Self)
    }

    /// Numbers of every draw by their names: kind, and an array of shape (chains, draws).
    fn quantities<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        keep::quantities(py, &self.0)
    }

    /// Names of the zones of the site.
    #[getter]
    fn zone_names(&self) -> Vec<String> {
        self.0.site().zones.iter().map(|zone| zone.name.clone()).collect()
    }

    /// Names of zones that cannot be told apart, two or more each.
    #[getter]
    fn exchangeable_zones(&self) -> Vec<Vec<String>> {
        zones::exchangeable(&self.0)
    }

    /// Chance of each head to be on each zone, shape (heads, zones).
    fn zone_chances<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        zones::chances(py, &decision::zone_chances(&self.0), self.0.site().zones.len())
    }

    /// Chance of each two heads to be on one zone, shape (heads, heads).
    fn same_zone_chances<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        zones::chances(py, &decision::same_zone_chances(&self.0), self.0.site().heads.len())
    }

    /// For each head, the name of its likely group and how sure it is in it.
    fn likely_groups<'py>(&self, py: Python<'py>) -> (Vec<String>, Bound<'py, PyArray1<f64>>) {
        zones::groups(py, &self.0)
    }

    /// Ids of the heads.
    #[getter]
    fn heads(&self) -> Vec<String> {
        self.0.site().heads.iter().map(|head| head.id.clone()).collect()
    }

    /// The zone of every head in each zoning, shape (zonings, heads), and the shares of these: what tests sum by themselves.
    #[cfg(feature = "test-hooks")]
    #[pyo3(name = "_zonings")]
    fn zonings<'py>(&self, py: Python<'py>) -> (Bound<'py, PyArray2<i64>>, Bound<'py, PyArray1<f64>>) {
        zones::zonings(py, &self.0)
    }

    /// Every piece of every draw, as columns; zone, class and kind as codes.
    fn segments<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        pieces::columns(py, &self.0)
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
        let (digs, form) = (digs::owned(&digs), self::form(form)?);
        let found = Run { threads, progress }.run(py, |relay| {
            decision::strike_probability(&self.0, &digs, form, relay).map_err(BindingError::from)
        })?;
        strikes(py, &digs, &found)
    }

    /// What is known to lie where each dig is: `tolerance_zone`, the name of flagged metal, or nothing.
    fn known_there(&self, py: Python<'_>, digs: Vec<PyRef<'_, PyDig>>) -> PyResult<Vec<Option<String>>> {
        let (digs, site) = (digs::owned(&digs), self.0.site());
        detached(py, || Ok::<_, BindingError>(digs.iter().map(|dig| known_there(site, dig)).collect()))
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
        let digs = digs::owned(&digs);
        let options = decisions::places(&weights, &rules, reach_m, cell_m)?;
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
        let (digs, setback) = (digs::owned(&digs), decisions::setback(setback)?);
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
        let digs = digs::owned(&digs);
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

    /// Spots of least total loss, as columns, with total, lower bound, whether exact, and the number of candidates.
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn best_spots<'py>(
        &self,
        py: Python<'py>,
        holes: Vec<spots::Hole<'py>>,
        margins_m: spots::Margins,
        weights: Given,
        method: &str,
        within: Option<PyRef<'py, PyDig>>,
        rules: spots::Rules,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let options = SpotOptions {
            weights: decisions::weights(&weights)?,
            method: method_of(method)?,
            within: within.and_then(|pit| spots::outline(&pit.0)),
            ..spots::options(holes, margins_m, &rules)?
        };
        let found = Run { threads, progress }
            .run(py, |relay| decision::best_spots(&self.0, &options, relay).map_err(BindingError::from))?;
        spots::columns(py, &found)
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

    /// A plan of probes: rows, outcomes for every dig, and what else is known of it.
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn plan_probes<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<PyRef<'_, PyDig>>,
        n: usize,
        radius_m: f64,
        depth_m: Option<f64>,
        tool: plans::ProbeTool,
        objective: &str,
        grid_m: plans::Grid,
        weights: Given,
        rules: (String, f64),
        costs: (f64, f64),
        always: bool,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let digs = digs::owned(&digs);
        let plan = ProbePlan {
            objective: plans::objective(objective)?,
            depth_m,
            weights: decisions::weights(&weights)?,
            rules: decisions::rules((&rules.0, rules.1))?,
            always,
            ..plans::options(n, radius_m, tool, grid_m, costs)
        };
        let found = Run { threads, progress }.run(py, |relay| {
            decision::plan_probes(&self.0, &digs, &plan, relay).map_err(BindingError::from)
        })?;
        plans::probes(py, self.0.site(), &digs, &found)
    }

    /// Passes of a detector, in order: rows and what else is known.
    #[allow(clippy::too_many_arguments)] // the arguments of the Python call
    fn plan_sweeps<'py>(
        &self,
        py: Python<'py>,
        digs: Vec<PyRef<'_, PyDig>>,
        n: usize,
        by: &str,
        size_m: plans::PassSize,
        chances: plans::PassChances,
        threads: Option<NonZeroUsize>,
        progress: Option<Py<PyAny>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let digs = digs::owned(&digs);
        let options = plans::sweep_options(n, by, size_m, chances)?;
        let found = Run { threads, progress }.run(py, |relay| {
            decision::plan_sweeps(&self.0, &digs, &options, relay).map_err(BindingError::from)
        })?;
        plans::sweeps(py, self.0.site(), &found)
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
        let (digs, weights) = (digs::owned(&digs), decisions::weights(&weights)?);
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
        let (digs, options) = (digs::owned(&digs), decisions::places(&weights, &rules, reach_m, cell_m)?);
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
        let (digs, options) = (digs::owned(&digs), decisions::places(&weights, &rules, reach_m, cell_m)?);
        let found = Run { threads, progress }.run(py, |relay| {
            decision::dig_maps(&self.0, &digs, &options, relay).map_err(BindingError::from)
        })?;
        Ok(found.into_iter().map(|found| PyStrikeMap::with_shift(py, found)).collect())
    }
}
