//! What a detectorist and a surveyor bring home from one site. A forecaster is given this and nothing else: truth lives in
//! another type. Metres, x east, y north.

use crate::plane::Xy;

/// What a buried line of metal carries, in the classes of the site document. Laterals and sewers are left out: plastic
/// and clay do not sound (python/docs/trade-values.md, 7.4).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    Mainline,
    ControlWire,
    Potable,
    Gas,
    Electric,
    Communication,
}

impl Class {
    pub const ALL: [Class; 6] = [
        Class::Mainline,
        Class::ControlWire,
        Class::Potable,
        Class::Gas,
        Class::Electric,
        Class::Communication,
    ];
    /// In the words of the site document.
    pub fn name(self) -> &'static str {
        match self {
            Class::Mainline => "mainline",
            Class::ControlWire => "control_wire",
            Class::Potable => "potable",
            Class::Gas => "gas",
            Class::Electric => "electric",
            Class::Communication => "communication",
        }
    }
}

/// Something that stands above ground or is let into it, where a line may end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    WaterMeter,
    Backflow,
    HoseBib,
    YardHydrant,
    QuickCoupler,
    ValveBox,
    /// Where the water service goes into a wall.
    WaterEntry,
    GasMeter,
    /// Lid over the valve of a gas service at the street, or the inlet at a grill or shed.
    GasValve,
    ElectricMeter,
    /// Transformer or hand hole that feeds the lot, or the panel in a shed.
    ElectricFeed,
    CommunicationBox,
    Pedestal,
}

impl Kind {
    /// The one class that a line ending here has, where there is one. A valve box ends mainlines and control wires.
    pub fn tells(self) -> Option<Class> {
        match self {
            Kind::WaterMeter | Kind::WaterEntry | Kind::HoseBib | Kind::YardHydrant => Some(Class::Potable),
            Kind::Backflow | Kind::QuickCoupler => Some(Class::Mainline),
            Kind::ValveBox => None,
            Kind::GasMeter | Kind::GasValve => Some(Class::Gas),
            Kind::ElectricMeter | Kind::ElectricFeed => Some(Class::Electric),
            Kind::CommunicationBox | Kind::Pedestal => Some(Class::Communication),
        }
    }
    /// Whether the site document has an entry of its own for it. The others are told as ends of a service.
    pub fn has_entry(self) -> bool {
        matches!(
            self,
            Kind::WaterMeter
                | Kind::Backflow
                | Kind::HoseBib
                | Kind::YardHydrant
                | Kind::QuickCoupler
                | Kind::ValveBox
        )
    }
}

/// A fixture as surveyed.
#[derive(Clone, Copy, Debug)]
pub struct Fixture {
    pub at: Xy,
    pub sd_m: f64,
    pub kind: Kind,
}

/// A line known by both of its ends, its way unknown. Indices into the fixtures.
#[derive(Clone, Copy, Debug)]
pub struct Service {
    pub class: Class,
    pub from: usize,
    pub to: usize,
}

/// A flag as surveyed.
#[derive(Clone, Debug)]
pub struct Flag {
    pub at: Xy,
    /// As stated, of x and of y.
    pub sd_m: f64,
    /// The line that the detectorist took it for.
    pub name: Option<String>,
    /// Depth of the conductor that the detector read.
    pub depth_m: Option<f64>,
    /// Class by the tone.
    pub class: Option<Class>,
}

/// Ground that was swept.
#[derive(Clone, Debug)]
pub struct Swept {
    pub outline: Vec<Xy>,
    /// Chance that a line of metal under it sounds.
    pub p_detect: f64,
}

/// Paint of a utility locator.
#[derive(Clone, Debug)]
pub struct Mark {
    pub class: Class,
    pub path: Vec<Xy>,
    pub sd_m: Option<f64>,
    pub quality: Option<&'static str>,
    pub date: Option<String>,
}

/// Ground that carries something, in the words of the site document.
#[derive(Clone, Debug)]
pub struct Obstacle {
    pub kind: &'static str,
    pub outline: Vec<Xy>,
}

/// All that is known of a site without digging.
#[derive(Clone, Debug)]
pub struct Survey {
    pub seed: u64,
    pub boundary: Vec<Xy>,
    pub obstacles: Vec<Obstacle>,
    pub fixtures: Vec<Fixture>,
    pub services: Vec<Service>,
    pub flags: Vec<Flag>,
    /// Whether `flags` stand in the order of the walk. No document tells it.
    pub in_walking_order: bool,
    pub swept: Vec<Swept>,
    pub marks: Vec<Mark>,
}

impl Survey {
    pub fn name(&self) -> String {
        format!("walk {} (invented)", self.seed)
    }
}
