//! Python binding of underturf: this file only registers what the other files bind.
//!
//! Each of those files converts, releases the interpreter, calls the engine and wraps; no decision about layouts,
//! strikes or units is made here. The readable face, with docstrings, lives in `python/underturf/`.

mod decisions;
mod defaults;
mod diagnose;
mod digs;
mod errors;
mod guard;
#[cfg(feature = "test-hooks")]
mod hooks;
mod keep;
mod layouts;
mod map;
mod metal;
mod monitor;
mod node;
mod pieces;
mod plans;
mod pool;
mod sample;
mod site;
mod spots;
mod stakes;
mod strike;
mod words;
mod zones;

use pyo3::prelude::*;

/// Chains over zones make and drop laws all the time: with the allocator of the C library that is a third of their work.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Engine of underturf. Private: use the names that `underturf` itself exports.
#[pymodule(gil_used = false)]
mod _core {
    use pyo3::prelude::*;
    use std::collections::BTreeMap;
    use underturf::class::Class;
    use underturf::decision::Better;
    use underturf::inference::NOT_CONVERGED;
    use underturf::layout::Kind;

    #[pymodule_export]
    use crate::decisions::{
        combined_stem, critical_root_zone, default_weights, root_ball, root_protection, setbacks,
    };
    #[pymodule_export]
    use crate::diagnose::diagnose;
    #[pymodule_export]
    use crate::digs::PyDig;
    #[pymodule_export]
    use crate::layouts::PyLayouts;
    #[pymodule_export]
    use crate::map::PyStrikeMap;
    #[pymodule_export]
    use crate::monitor::set_memory_limit;
    #[pymodule_export]
    use crate::sample::sample_layouts;
    #[pymodule_export]
    use crate::site::{PySite, plausibility_table, settings_table};
    #[pymodule_export]
    use crate::words::{check_day, read_length, spelling_hint};

    #[pymodule_init]
    fn init(module: &Bound<'_, PyModule>) -> PyResult<()> {
        module.add("CLASSES", Class::ALL.map(Class::name))?;
        module.add("DEFAULTS", BTreeMap::from(crate::defaults::defaults()))?;
        module.add("IN_PYTHON", crate::errors::IN_PYTHON)?;
        module.add("NOT_CONVERGED", NOT_CONVERGED)?;
        module.add("NOWHERE", Better::Nowhere.note())?;
        module.add("WORDS", BTreeMap::from(crate::defaults::words()))?;
        module.add("KINDS", Kind::ALL.map(Kind::name))?;
        #[cfg(feature = "test-hooks")]
        crate::hooks::add(module)?;
        Ok(())
    }
}
