// What the book would say if it knew already what waits on the device: so that a
// run that was begun without network can be loaded, and levels are right.

export function project(shed, entries) {
	const out = structuredClone(shed)
	const ahead = e => e.state === "waiting" || e.state === "sent" && e.reply?.number > shed.through_entry
	const righting = new Map(entries.filter(e => ahead(e) && e.body.replaces).map(e => [e.body.replaces, e]))
	for (const e of entries) {
		const by = righting.get(e.id)
		const stays = !by || by.path === e.path && amended.has(e.path)
		if (stays && ahead(e)) effects[e.path]?.(out, e.body, e)
		else if (!stays && e.state === "sent" && !ahead(e)) undone[e.path]?.(out, e.body, e)
	}
	return out
}

// What others name keeps its place when it is put right.
const amended = new Set(["runs", "lots"])

const effects = {
	"movements": (s, b) => {
		const from = holder(s, b.from), to = holder(s, b.to)
		const kg = b.mass_kg ?? 0 // a container is emptied whole, and the device does not know what it held
		pour(to, kg, from?.expected)
		poured(s, b)
		if (b.from.kind === "run" && from) from.honey_kg += kg
		else if (b.from.kind === "container") unstock(s, b.from.id)
		else draw(from, kg)
	},
	"stocktakes": (s, b, e) => {
		const tank = holder(s, {kind: "tank", id: b.tank_id})
		if (tank) tank.held_kg = b.mass_kg ?? e.massKg ?? tank.held_kg
	},
	"washes": (s, b) => {
		const tank = holder(s, {kind: "tank", id: b.tank_id})
		if (tank) Object.assign(tank, {held_kg: 0, expected: undefined})
	},
	"runs": (s, b, e) => amend(s.runs.find(r => r.run_id === e.root), {name: b.name, frames_per_side: b.frames_per_side ?? 30}) || s.runs.unshift({run_id: b.id, name: b.name, started_at: b.occurred_at, frames_per_side: b.frames_per_side ?? 30, last_load: 0, supers_in: 0, honey_kg: 0}),
	"run-ends": (s, b) => { s.runs = s.runs.filter(r => r.run_id !== b.run_id) },
	"loads": (s, b) => {
		const run = s.runs.find(r => r.run_id === b.run_id)
		if (run) run.last_load = Math.max(run.last_load, b.load)
	},
	"temperature-logs": (s, b) => stepDone(s, step => step.does === "heat" && step.about_id === b.on.id && b.points.some(p => new Date(p.at) >= new Date(step.at))),
	"hive-counts": (s, b) => stepDone(s, step => step.does === "move" && step.about_id === b.yard_id && b.hives === 0),
	"pulls": (s, b) => {
		let left = b.supers.reduce((n, c) => n + c.supers, 0)
		stepDone(s, step => {
			if (step.does !== "pull" || step.about_id !== b.yard_id || left <= 0) return false
			const takes = Math.min(left, step.count ?? left)
			left -= takes
			return !(step.count && (step.count -= takes) > 0)
		})
		s.pulls.unshift({pull_id: b.id, yard_id: b.yard_id, yard: s.yards.find(y => y.yard_id === b.yard_id)?.name ?? "", pulled_at: b.occurred_at, supers: b.supers.map(c => ({...c}))})
	},
	"run-supers": (s, b) => {
		const run = s.runs.find(r => r.run_id === b.run_id)
		if (run) run.supers_in += b.supers
		const pull = s.pulls.find(p => p.pull_id === b.pull_id)
		const left = pull?.supers.find(c => c.super_kind_id === b.super_kind_id)
		if (left) left.supers -= b.supers
		s.pulls = s.pulls.filter(p => p.supers.some(c => c.supers > 0))
	},
	"calibrations": (s, b) => amend(s.checks?.find(c => c.instrument_id === b.instrument_id), {
		checked_at: b.occurred_at, left_wrong: Math.abs(b.as_left - b.expected) > b.tolerance + 1e-9, reference: b.reference, expected: b.expected, tolerance: b.tolerance,
	}),
	"dispatches": (s, b) => {
		for (const id of b.containers) unstock(s, id)
		s.prepared = s.prepared?.filter(p => p.prepared_id !== b.prepared_id)
	},
	"lots": (s, b, e) => amend(s.lots.find(l => l.lot_id === e.root), {code: b.code}) || s.lots.unshift({lot_id: b.id, code: b.code, status: "open"}),
	"fills": (s, b) => {
		draw(holder(s, {kind: "tank", id: b.tank_id}), b.gross_kg - b.tare_kg)
		const lot = s.lots.find(l => l.lot_id === b.lot_id)
		stock(s, b)
		if (lot) Object.assign(lot, {last_container: b.container, last_tare_kg: b.tare_kg, last_container_kind_id: b.container_kind_id, last_tank_id: b.tank_id})
	},
}

// What undoes an entry that the book has, as far as the device knows it. What a dip and a
// wash found before them is not known any more: the levels stay until the book tells them.
const undone = {
	"movements": (s, b) => {
		draw(holder(s, b.to), b.mass_kg ?? 0)
		const from = holder(s, b.from)
		if (from) from[b.from.kind === "run" ? "honey_kg" : "held_kg"] += b.from.kind === "run" ? -b.mass_kg : b.mass_kg
	},
	"fills": (s, b, e) => {
		const tank = holder(s, {kind: "tank", id: b.tank_id})
		if (tank) tank.held_kg += b.gross_kg - b.tare_kg
		unstock(s, e.root ?? e.id)
	},
	"pulls": (s, b, e) => { s.pulls = s.pulls.filter(p => p.pull_id !== (e.root ?? e.id)) },
	"runs": (s, b, e) => { s.runs = s.runs.filter(r => r.run_id !== (e.root ?? e.id)) },
	"run-ends": (s, b, e) => { if (e.of && !s.runs.some(r => r.run_id === e.of.run_id)) s.runs.unshift({...e.of}) },
	"run-supers": (s, b, e) => {
		const run = s.runs.find(r => r.run_id === b.run_id)
		if (run) run.supers_in -= b.supers
		let pull = s.pulls.find(p => p.pull_id === b.pull_id)
		if (!pull && e.of) s.pulls.unshift(pull = {...e.of, supers: []})
		const left = pull?.supers.find(c => c.super_kind_id === b.super_kind_id)
		if (left) left.supers += b.supers
		else pull?.supers.push({super_kind_id: b.super_kind_id, supers: b.supers})
	},
	"lots": (s, b, e) => { s.lots = s.lots.filter(l => l.lot_id !== (e.root ?? e.id)) },
}

function unstock(s, fill) {
	for (const l of s.stock ?? []) l.containers = l.containers.filter(c => c.fill_id !== fill)
	for (const p of s.prepared ?? []) for (const c of p.containers) if (c.fill_id === fill) c.emptied = true
}

// stepDone takes the first step of each plan away that something did.
function stepDone(s, did) {
	for (const plan of s.plans ?? []) {
		const at = plan.steps.findIndex(did)
		if (at >= 0) plan.steps.splice(at, 1)
	}
	s.plans = s.plans?.filter(plan => plan.steps.length > 0)
}

// poured marks what a movement does of a blend that was prepared.
function poured(s, b) {
	for (const blend of s.blends ?? []) {
		const take = b.to.id === blend.tank_id && blend.takes.find(t => t.id === b.from.id)
		if (take) take.done ||= take.kind === "container" || (take.poured_kg = (take.poured_kg ?? 0) + (b.mass_kg ?? 0)) >= take.mass_kg - 0.5
	}
	s.blends = s.blends?.filter(blend => blend.takes.some(t => !t.done))
}

const amend = (thing, as) => thing && Object.assign(thing, as)

// stock puts a container that waits among those that are here.
function stock(s, b) {
	s.stock ??= []
	let lot = s.stock.find(l => l.lot_id === b.lot_id)
	if (!lot) s.stock.unshift(lot = {lot_id: b.lot_id, code: s.lots.find(l => l.lot_id === b.lot_id)?.code ?? "", containers: []})
	lot.containers.unshift({fill_id: b.id, container: b.container})
}

function holder(shed, place) {
	if (place.kind === "tank") return shed.tanks.find(t => t.tank_id === place.id)
	if (place.kind === "run") return shed.runs.find(r => r.run_id === place.id)
}

function draw(tank, kg) {
	if (!tank) return
	tank.held_kg = Math.max(0, tank.held_kg - kg)
	if (tank.held_kg === 0) tank.expected = undefined
}

// pour mixes by mass. What is not known of honey out of a run is not made up:
// the tank's expectation then is one no more.
function pour(tank, kg, of) {
	if (!tank) return
	tank.expected = tank.held_kg === 0 ? of && {...of} : mixed(tank.expected, tank.held_kg, of, kg)
	tank.held_kg += kg
}

function mixed(a, aKg, b, bKg) {
	if (!a || !b) return undefined
	const part = bKg / (aKg + bKg)
	return {
		moisture_pct: a.moisture_pct + part * (b.moisture_pct - a.moisture_pct),
		moisture_std_uncertainty_pct: Math.hypot((1 - part) * a.moisture_std_uncertainty_pct, part * b.moisture_std_uncertainty_pct),
	}
}
