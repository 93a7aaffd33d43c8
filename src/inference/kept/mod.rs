//! Layouts as columns and back: what a file has to hold so that their answers after reading are the same bits.
//!
//! Draws, pieces, chains and what metal lines said of the site are kept as they are. What follows from the document alone (the
//! priors of the zones) and what follows from kept numbers (convergence checks) is made again. The columns are documented in
//! python/docs/layouts-file.md.

mod chains;
mod columns;
mod draws;
mod metal_lines;
mod runs;
mod supply;

pub use columns::{Column, Columns};

use super::convergence::judged;
use super::joint::SystemPriors;
use super::known_zones::ZoningModel;
use super::layouts::Layouts;
use super::metal::{Metal, model_of};
use super::probes::findings;
use crate::class::Class;
use crate::error::{Error, KeptFault};
use crate::layout::OuterPrior;
use crate::mcmc::diagnostics::Thresholds;
use crate::model::{Bearing, Common};
use crate::site::Site;
use std::sync::Arc;

impl Layouts {
    /// The layouts as columns, the site's document apart.
    ///
    /// # Examples
    /// ```
    /// use underturf::inference::{Layouts, SampleOptions, sample_layouts};
    /// use underturf::monitor::Unwatched;
    /// let site = underturf::example::lawn()?;
    /// let layouts = sample_layouts(&site, &SampleOptions { draws: 20, seed: 7 }, &Unwatched)?;
    /// let again = Layouts::take_up(&site, &layouts.keep())?;
    /// assert_eq!(again.pieces().all(), layouts.pieces().all());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn keep(&self) -> Columns {
        let mut columns = Columns::default();
        columns.put("about/seed", vec![self.seed.to_string()]);
        columns.put("about/effort", vec![self.effort.to_string()]);
        columns.put("about/work", vec![self.work.to_string()]);
        columns.put("about/effective_draws", vec![self.effective]);
        columns.put_whole("about/systems", [self.systems().len()]);
        columns.put("system_names/name", self.system_names());
        columns.put("warnings/sentence", self.warnings.clone());
        columns.put("classes/name", Class::ALL.map(|class| class.name().to_owned()).to_vec());
        columns.put_flags("classes/assessed", self.assessed);
        columns.put("bearings/rad", self.bearings.iter().map(|it| it.rad).collect::<Vec<f64>>());
        let chances: Vec<f64> = self.bearings.iter().map(|it| it.probability).collect();
        columns.put("bearings/probability", chances);
        columns.put_whole("bearings/case", self.bearings.iter().map(|it| it.case));
        columns.put("zonings/share", self.zoning_shares.clone());
        columns.put_whole("zonings/heads", self.zonings.iter().map(Vec::len));
        columns.put_whole("zoning_heads/zone", self.zonings.iter().flatten().copied());
        columns.put("models/probability", self.models.iter().map(|it| it.probability).collect::<Vec<f64>>());
        columns.put_whole("models/heads", self.models.iter().map(|it| it.zone_of.len()));
        columns.put_whole("model_heads/zone", self.models.iter().flat_map(|it| it.zone_of.iter().copied()));
        draws::keep(&self.draws, &self.pieces, &mut columns);
        supply::keep(&self.site, &mut columns);
        if let Some(convergence) = &self.convergence {
            chains::keep(convergence, &mut columns);
        }
        if let Some(metal) = &self.metal {
            chains::keep_watched("metal_watched", &metal.watched, &mut columns);
            columns.put_flags("metal/met_by_a_find", [metal.met]);
        }
        columns
    }

    /// Layouts that were kept, of the site that they were drawn for.
    ///
    /// # Errors
    /// [`Error::Kept`] where a column is missing, or holds what it cannot mean.
    pub fn take_up(site: &Site, columns: &Columns) -> Result<Self, Error> {
        for group in columns.groups() {
            columns.even(group)?;
        }
        let site = Arc::new(supply::informed(site, columns)?);
        let common = Arc::new(Common::new(&site));
        let grid = common.bearings().len();
        let systems = single(columns, "about/systems", MOST_SYSTEMS)?;
        let zones = systems.saturating_sub(common.supplies().len());
        let zonings = zonings(&site, columns, "zonings", "zoning_heads", zones)?;
        let models = models(&site, columns, common, zones, &zonings)?;
        if models[0].prior.systems().len() != systems {
            return Err(length("about/systems", systems, models[0].prior.systems().len()).into());
        }
        let (draws, pieces) = draws::taken_up(columns, grid, systems)?;
        let metal = metal(&site, columns)?;
        let told = metal
            .as_ref()
            .map_or((0, 0), |it| (it.model.evidence.items.len(), it.model.evidence.fixtures.len()));
        for line in draws.iter().flat_map(|draw| draw.metal.iter()) {
            for (name, numbers, end) in [
                (
                    "metal_items/item",
                    line.items.iter().map(|it| usize::from(*it)).collect::<Vec<_>>(),
                    told.0,
                ),
                ("metal_fixtures/fixture", line.fixtures.clone(), told.1),
            ] {
                if let Some(row) = numbers.iter().position(|number| *number >= end) {
                    let (value, most) = (numbers[row] as i64, end as i64 - 1);
                    return Err(KeptFault::Range { column: name.to_owned(), row, value, most }.into());
                }
            }
        }
        let assessed = columns.flags("classes/assessed")?;
        let assessed = assessed
            .try_into()
            .map_err(|flags: Vec<bool>| length("classes/assessed", flags.len(), Class::ALL.len()))?;
        Ok(Self {
            findings: findings(&site)?,
            seed: columns.written("about/seed")?,
            effective: columns.number("about/effective_draws")?,
            bearings: bearings(columns)?,
            assessed,
            warnings: columns.texts("warnings/sentence")?.to_vec(),
            zoning_shares: columns.floats("zonings/share")?.to_vec(),
            convergence: chains::taken_up(columns)?,
            effort: columns.written("about/effort")?,
            work: columns.written("about/work")?,
            site,
            models,
            draws,
            pieces,
            zonings,
            metal,
        })
    }
}

/// More systems than any site has. Numerical choice: it bounds what is made for a file that lies.
const MOST_SYSTEMS: usize = 100_000;

fn length(column: &str, found: usize, wanted: usize) -> KeptFault {
    KeptFault::Length { column: column.to_owned(), found, wanted }
}

fn single(columns: &Columns, name: &str, end: usize) -> Result<usize, KeptFault> {
    match columns.indices(name, end)?[..] {
        [one] => Ok(one),
        ref rows => Err(length(name, rows.len(), 1)),
    }
}

fn bearings(columns: &Columns) -> Result<Vec<Bearing>, KeptFault> {
    let (rad, chance) = (columns.floats("bearings/rad")?, columns.floats("bearings/probability")?);
    let case = columns.indices("bearings/case", usize::MAX)?;
    Ok((0..rad.len()).map(|k| Bearing { rad: rad[k], probability: chance[k], case: case[k] }).collect())
}

/// The zone of every head, zoning after zoning; a zoning may leave out that it stands for all.
fn zonings(
    site: &Site,
    columns: &Columns,
    group: &str,
    heads: &str,
    zones: usize,
) -> Result<Vec<Vec<usize>>, KeptFault> {
    let zone = columns.indices(&format!("{heads}/zone"), zones)?;
    let counts = format!("{group}/heads");
    let own = columns.ranges(&counts, zone.len())?;
    match own.iter().find(|own| !own.is_empty() && own.len() != site.heads.len()) {
        Some(other) => Err(length(&counts, other.len(), site.heads.len())),
        None => Ok(own.into_iter().map(|own| zone[own].to_vec()).collect()),
    }
}

/// The priors of the zonings. One that stands for all is that of the first zoning drawn.
fn models(
    site: &Site,
    columns: &Columns,
    common: Arc<Common>,
    zones: usize,
    drawn: &[Vec<usize>],
) -> Result<Vec<ZoningModel>, Error> {
    let priors = SystemPriors::new(common);
    let probability = columns.floats("models/probability")?;
    let mut models = Vec::with_capacity(probability.len());
    for (k, zone_of) in zonings(site, columns, "models", "model_heads", zones)?.into_iter().enumerate() {
        let shown = if zone_of.is_empty() { drawn.first().unwrap_or(&zone_of) } else { &zone_of };
        let mut members: Vec<Vec<usize>> = vec![Vec::new(); zones];
        shown.iter().enumerate().for_each(|(head, zone)| members[*zone].push(head));
        let prior = priors.of(members)?;
        models.push(ZoningModel { prior, zone_of, probability: probability[k] });
    }
    if models.is_empty() {
        return Err(length("models/probability", 0, 1).into());
    }
    Ok(models)
}

fn metal(site: &Site, columns: &Columns) -> Result<Option<Metal>, Error> {
    let Some(model) = model_of(site) else { return Ok(None) };
    if columns.get("metal/met_by_a_find").is_none() {
        return Ok(None);
    }
    let watched = chains::watched("metal_watched", columns)?;
    let checked = judged(&watched, [None, None], &Thresholds::default())?;
    let met = single(columns, "metal/met_by_a_find", 2)? == 1;
    Ok(Some(Metal { model, watched, checked, met }))
}
