//! The tables of a job file, key by key, as they are written. The doc comments are what an editor
//! shows when the pointer rests on a key.

use solver::quantity::{
    AreaResistance, Charge, Conductivity, Current, CurrentDensity, Density, Length, MolarMass,
    Potential, Resistance, Temperature, Time,
};

use super::cell::At;
use super::forms::{DrawnLength, Efficiency, OneOrMany, Pair, Share};
use super::metal_form::MetalForm;
use super::table::table;

table! {
    /// A plating job: a section through a tank with its bath, parts, anodes and supply.
    JobTable, "the job file" {
        /// What the job is about; printed above every result.
        title: String,
        /// Length unit of the drawing: "mm", "cm", "m", "in" or "ft".
        unit: String,
        /// The inside of the tank section.
        tank: TankTable,
        /// The plating solution.
        bath: BathTable,
        /// The work: cathodes whose deposit is wanted.
        part: OneOrMany<BodyTable>,
        /// Positive electrodes.
        anode: OneOrMany<BodyTable>,
        /// Insulators in the bath.
        shield: OneOrMany<BodyTable>,
        /// Cathodes that take surplus current away from edges.
        thief: OneOrMany<BodyTable>,
        /// Metal without a wire: its net current is zero.
        floating: OneOrMany<BodyTable>,
        /// Bodies that let current through in part: perforated shields, anode bags.
        screen: OneOrMany<BodyTable>,
        /// The rectifiers: each by exactly one of current, current_density and voltage.
        supply: OneOrMany<SupplyTable>,
        /// How long the part is plated.
        run: RunTable,
        /// The specification that the verdict compares with.
        want: WantTable,
        /// How closely to solve.
        solve: SolveTable,
        /// Layers of a sequence, in order of plating: each a bath of its own for the same parts.
        layer: OneOrMany<LayerTable>,
    }
    later {}
}

table! {
    /// One layer of a sequence: a job file of its own, or tables that replace those of this file.
    LayerTable, "[[layer]]" {
        /// Unique name, such as "copper"; result files of the layer begin with it.
        name: String,
        /// A complete job file beside this one; then the layer has no other keys.
        job: String,
        /// The tank of this layer instead of the file's.
        tank: TankTable,
        /// The bath of this layer instead of the file's.
        bath: BathTable,
        /// The parts as they hang in this layer's tank: same names, same shapes.
        part: OneOrMany<BodyTable>,
        /// The anodes of this layer instead of the file's.
        anode: OneOrMany<BodyTable>,
        /// The shields of this layer instead of the file's.
        shield: OneOrMany<BodyTable>,
        /// The thieves of this layer instead of the file's.
        thief: OneOrMany<BodyTable>,
        /// The floating metal of this layer instead of the file's.
        floating: OneOrMany<BodyTable>,
        /// The screens of this layer instead of the file's.
        screen: OneOrMany<BodyTable>,
        /// The supply of this layer instead of the file's.
        supply: OneOrMany<SupplyTable>,
        /// The run of this layer instead of the file's.
        run: RunTable,
        /// What is wanted of this layer alone; the file's `[want]` speaks of all layers together.
        want: WantTable,
        /// How closely to solve this layer.
        solve: SolveTable,
    }
    later {}
}

table! {
    /// The inside of the tank section; all its walls insulate.
    TankTable, "[tank]" {
        /// Width and height in drawing units; origin in the lower left corner, y up.
        size: Pair,
        /// Any other shape instead of `size`, such as { polygon = [[0,0], ...] }.
        outline: OutlineTable,
        /// How far a planar section extends out of the page; turns A/m into A. Not in axial ones.
        depth: DrawnLength,
        /// "plan" (seen from above, the default) or "elevation" (seen from the side).
        section: String,
        /// "planar" (the default), or "axial": everything goes around the axis x = 0, x is the
        /// radius, and the tank lies at x >= 0.
        symmetry: String,
    }
    later {}
}

table! {
    /// One shape.
    OutlineTable, "`outline`" {
        /// Rectangle.
        rect: RectTable,
        /// Filled circle.
        disc: DiscTable,
        /// Corner points, in order.
        polygon: Vec<At<Pair>>,
        /// SVG path data in drawing units.
        path: String,
        /// Outline from a drawing: { name = "tank.dxf", layer = "inside" }, or .svg with id.
        file: FileTable,
        /// Rounds the corners of `polygon`.
        corner_radius: f64,
    }
    later {}
}

table! {
    /// The plating solution.
    BathTable, "[bath]" {
        /// Name of an entry of the bath library (`throwmap baths` lists them).
        r#use: String,
        /// Bath file of your own, from the job's folder (default: "baths.toml" if it is there).
        file: String,
        /// Bath temperature; a library's conductivity is scaled to it.
        temperature: Temperature,
        /// Temperatures between which the bath works [least, greatest].
        temperature_window: (At<Temperature>, At<Temperature>),
        /// Conductivity at bath temperature; measure it if you can.
        conductivity: Conductivity,
        /// Growth of the library's conductivity with each kelvin, such as "2 %".
        conductivity_per_kelvin: Share,
        /// Polarization law of parts and thieves.
        cathode: LawTable,
        /// Polarization law of anodes.
        anode: LawTable,
        /// Limiting current density of parts and thieves, for the law of `cathode` or the library.
        limiting: CurrentDensity,
        /// Cathode current densities between which the bath plates well.
        window: WindowTable,
        /// Deposited metal, such as "Ni"; or { molar_mass, density, valence }.
        metal: MetalForm,
        /// Share of the current that deposits metal: one number, or a table against current density.
        efficiency: Efficiency,
        /// Covering threshold: below this cathode current density the metal stays bare.
        threshold: CurrentDensity,
        /// What the anodes are made of.
        anode_material: String,
        /// "soluble" (anodes feed the bath) or "insoluble" (they make oxygen).
        anode_kind: String,
        /// Largest good current density on the anodes.
        anode_limit: CurrentDensity,
        /// Usual anode area over cathode area [least, greatest].
        area_ratio: Pair,
        /// Share of the current that deposits no metal which makes hydrogen.
        hydrogen_share: Share,
        /// Usual tank voltage [least, greatest].
        tank_voltage: (At<Potential>, At<Potential>),
    }
    later {}
}

table! {
    /// Least and greatest good current density.
    WindowTable, "`window`" {
        /// Below this the deposit is dull, thin or absent.
        min: CurrentDensity,
        /// What to begin with.
        default: CurrentDensity,
        /// Above this the deposit burns.
        max: CurrentDensity,
    }
    later {}
}

table! {
    /// Deposited metal by its properties.
    MetalTable, "`metal`" {
        /// Molar mass.
        molar_mass: MolarMass,
        /// Density of the deposit.
        density: Density,
        /// Electrons for each atom deposited.
        valence: f64,
    }
    later {}
}

table! {
    /// Polarization law of an electrode surface.
    LawTable, "a polarization law" {
        /// "none", "linear", "tafel", "butler-volmer" or "table"; in [bath] the library's if left out.
        law: String,
        /// linear: overpotential = current density x resistance.
        resistance: AreaResistance,
        /// tafel, butler-volmer: exchange current density.
        exchange: CurrentDensity,
        /// tafel: overpotential for each decade of current density.
        slope: Potential,
        /// butler-volmer: anodic transfer coefficient.
        alpha_anodic: f64,
        /// butler-volmer: cathodic transfer coefficient.
        alpha_cathodic: f64,
        /// table: measured points [overpotential, current density], rising.
        points: Vec<At<(At<Potential>, At<CurrentDensity>)>>,
        /// Limiting current density.
        limiting: CurrentDensity,
        /// Rest potential (default 0 V).
        rest: Potential,
    }
    later {}
}

table! {
    /// One thing in the tank: a name, exactly one shape, then mirror, turn, move, repeat.
    BodyTable, "a body" {
        /// Unique name.
        name: String,
        /// Rectangle { at = [x, y], size = [w, h], corner = r }.
        rect: RectTable,
        /// Filled circle { at = [x, y], radius = r }.
        disc: DiscTable,
        /// Hollow circle { at = [x, y], outer = R, inner = r }.
        ring: RingTable,
        /// Corner points, in order.
        polygon: Vec<At<Pair>>,
        /// SVG path data in drawing units.
        path: String,
        /// Outline from a drawing: { name = "bracket.dxf", layer = "cut", scale = 1.0 }, or .svg with id.
        file: FileTable,
        /// Bent sheet { points = [[x, y], ...], thickness = t, ends = "flat" or "round" }.
        strip: StripTable,
        /// At an even gap from another body: { body = "cup", gap = 40, thickness = 8, from = [x, y], to = [x, y] }.
        follow: FollowTable,
        /// Rounds the corners of `polygon`.
        corner_radius: f64,
        /// First: "x" flips left and right, "y" top and bottom, about the shape's own centre.
        mirror: String,
        /// Second: degrees anticlockwise about the shape's own centre.
        turn: f64,
        /// Third: shift [dx, dy].
        r#move: Pair,
        /// Last: copies { count = 5, step = [60, 0] }, named name-1, name-2, ...
        repeat: RepeatTable,
        /// Polarization law of this body instead of its bath's.
        polarization: LawTable,
        /// Stopped-off stretches of the outline: insulating. Each counter-clockwise along the outline.
        masked: OneOrMany<SpanTable>,
        /// part: stretches that the specification is about (default: all that the ball can touch).
        significant: OneOrMany<SpanTable>,
        /// part: stretches that the specification is not about.
        not_significant: OneOrMany<SpanTable>,
        /// thief: potential of its metal against the cathode bus.
        offset: Potential,
        /// part, anode, thief: resistance of its hook, tab or contact (default 0).
        contact_resistance: Resistance,
        /// screen: conductivity inside it, if it is known.
        conductivity: Conductivity,
        /// screen: its open share, such as "30 %": of cloth (an anode bag), or of a perforated sheet.
        open_fraction: Share,
        /// screen: diameter of the round holes of a perforated sheet.
        hole: f64,
        /// screen: width of the slits of a slotted sheet.
        slit: f64,
        /// screen: thickness of the sheet, if its shape is not drawn to it.
        thickness: DrawnLength,
    }
    later {}
}

table! {
    /// A stretch of the outline, counter-clockwise (clockwise along a hole), between two points or
    /// two corners.
    SpanTable, "a stretch" {
        /// Where it begins, as the shape is drawn before mirror, turn and move.
        from: Pair,
        /// Where it ends.
        to: Pair,
        /// Number of the corner where it begins; `throwmap check` draws the numbers.
        from_corner: f64,
        /// Number of the corner where it ends.
        to_corner: f64,
    }
    later {}
}

table! {
    /// Rectangle by its centre and size.
    RectTable, "`rect`" {
        /// Centre [x, y].
        at: Pair,
        /// Width and height.
        size: Pair,
        /// Radius of the corners (default 0).
        corner: f64,
    }
    later {}
}

table! {
    /// Filled circle.
    DiscTable, "`disc`" {
        /// Centre [x, y].
        at: Pair,
        /// Radius.
        radius: f64,
    }
    later {}
}

table! {
    /// Hollow circle: the wall of a tube.
    RingTable, "`ring`" {
        /// Centre [x, y].
        at: Pair,
        /// Outer radius.
        outer: f64,
        /// Inner radius.
        inner: f64,
    }
    later {}
}

table! {
    /// An outline from a drawing file, DXF or SVG.
    FileTable, "`file`" {
        /// Its name, from the folder of the job file; ends in .dxf or .svg.
        name: String,
        /// DXF: the layer that holds the outline (needed if there are several).
        layer: String,
        /// SVG: the id of the path, shape or group.
        id: String,
        /// Drawing units of this job for one unit of the file, instead of what the file says.
        scale: f64,
        /// Ends this near to each other are joined, in the file's unit.
        join: f64,
    }
    later {}
}

table! {
    /// An outline at an even gap from another body, cut back where walls or bodies are in the way.
    FollowTable, "`follow`" {
        /// Name of the body that is followed.
        body: String,
        /// From that body to the near face.
        gap: DrawnLength,
        /// From the near face to the far one.
        thickness: DrawnLength,
        /// Where the followed stretch begins, on the followed body as it is drawn before its mirror,
        /// turn and move; all around without. Counter-clockwise, clockwise along a hole.
        from: Pair,
        /// Where it ends.
        to: Pair,
        /// Number of the corner of the followed body where it begins; `throwmap check` draws them.
        from_corner: f64,
        /// Number of the corner where it ends.
        to_corner: f64,
        /// true: all around inside the hole of the followed body.
        hole: bool,
        /// Least distance from walls and other bodies (default 5 mm, or the gap where that is less).
        clearance: DrawnLength,
    }
    later {}
}

table! {
    /// Bent sheet.
    StripTable, "`strip`" {
        /// Middle line of the sheet.
        points: Vec<At<Pair>>,
        /// Thickness of the sheet.
        thickness: DrawnLength,
        /// "flat" (the default) or "round".
        ends: String,
    }
    later {}
}

table! {
    /// Evenly spaced copies.
    RepeatTable, "`repeat`" {
        /// How many there are in all.
        count: f64,
        /// From one to the next [dx, dy].
        step: Pair,
    }
    later {}
}

table! {
    /// A rectifier. Exactly one of current, current_density, voltage.
    SupplyTable, "[supply]" {
        /// Its name in results (default "supply", or "supply 1", "supply 2", ...).
        name: String,
        /// Names of its anodes (default: all; required where there are several supplies).
        anodes: Vec<At<String>>,
        /// Names of its parts and thieves (default: all; required where there are several supplies).
        cathodes: Vec<At<String>>,
        /// Its current.
        current: Current,
        /// Mean current density over its parts.
        current_density: CurrentDensity,
        /// Voltage at its terminals.
        voltage: Potential,
        /// What the rectifier can deliver: { current = "50 A", voltage = "12 V" }.
        limit: LimitTable,
        /// Resistance of its leads and bars, both poles together (default 0).
        lead_resistance: Resistance,
    }
    later {}
}

table! {
    /// The rating on a rectifier's plate.
    LimitTable, "`limit`" {
        /// Greatest current.
        current: Current,
        /// Greatest voltage.
        voltage: Potential,
    }
    later {}
}

table! {
    /// How long the part is plated: one of time, until, ampere_hours.
    RunTable, "[run]" {
        /// Plating time.
        time: Time,
        /// Least thickness on the significant surface: the run ends when it is there.
        until: Length,
        /// Charge: the run ends when the supply has delivered it.
        ampere_hours: Charge,
        /// Positions that the part takes in turn.
        positions: PositionsTable,
    }
    later {}
}

table! {
    /// Positions that a turning or swinging part takes in turn; it rests in each.
    PositionsTable, "`positions`" {
        /// The point that it turns about [x, y].
        turn_about: Pair,
        /// Turns, degrees anticlockwise from where it is drawn, one for each position.
        angles: Vec<At<f64>>,
        /// Shifts [dx, dy] from where it is drawn (after the turn), one for each position.
        shifts: Vec<At<Pair>>,
        /// Shares of the time (default: equal), one for each position.
        shares: Vec<At<f64>>,
        /// Names of the bodies that move (default: all parts).
        bodies: Vec<At<String>>,
    }
    later {}
}

table! {
    /// The specification.
    WantTable, "[want]" {
        /// Least thickness wanted anywhere on the significant surface of the parts.
        min_thickness: Length,
        /// Greatest thickness allowed anywhere on the significant surface of the parts.
        max_thickness: Length,
        /// Diameter of the ball that touches what is significant (default "20 mm", after ISO 27830);
        /// "0 mm" makes the whole outline significant.
        significant_ball: Length,
        /// Coating designation of ISO 1456, ASTM B456, ISO 2081 or ASTM B633, such as "Fe/Zn12" or
        /// "Fe/Cu20 Ni30b Cr r": sets the least thickness of each layer.
        designation: String,
    }
    later {}
}

table! {
    /// How closely to solve.
    SolveTable, "[solve]" {
        /// Wanted accuracy of the local current density on the parts (default "1 %").
        accuracy: Share,
    }
    later {}
}
