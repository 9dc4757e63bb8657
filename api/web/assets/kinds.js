// The kinds of entries that the crew records: what is asked for each, what that
// makes of it in the contract's form, and what the book thinks of it.
//
// A kind is a function of what is known and typed so far (now): now.shed is the
// book as the device knows it, now.v what was chosen and typed by field, now.n(name)
// a figure in the book's units (NaN while there is none), now.w the writer of figures.

import { lang, show } from "./numbers.js"
import { dipKg, ofBlend, ofCheck, ofFill, ofLoad, ofLoading, ofPull, ofReading, ofRunEnd, ofRunStart, ofSigns, ofStocktake, ofSupers, ofTemperature, ofTransfer, ofWash } from "./opinion.js"
import { scales } from "./scales.js"
import { containerOf, numberOf } from "./scan.js"
import { say } from "./words.js"

const choice = (name, label, options, more) => ({type: "choice", name, label, options, ...more})
const number = (name, label, what, more) => ({type: "number", name, label, what, places: 1, ...more})
const text = (name, label, more) => ({type: "text", name, label, ...more})
const ticks = (name, label, options, more) => ({type: "ticks", name, label, options, ...more})

const kg = v => Math.round(v * 1000) / 1000
const tenth = v => Math.round(v * 10) / 10
const given = o => Object.fromEntries(Object.entries(o).filter(([, v]) => v !== undefined && v !== "" && !Number.isNaN(v)))
const placeOf = value => {
	const [kind, id] = (value ?? "").split(":")
	return id ? {kind, id} : {kind}
}

// What stands here, lot by lot.
const stocked = shed => (shed.stock ?? []).flatMap(l => l.containers.map(c => ({...c, lot_id: l.lot_id})))
const numbered = (shed, number) => stocked(shed).find(c => c.container.trim().toLowerCase() === (number ?? "").trim().toLowerCase())

// atContainer is what a scanned code sets where a container is asked for.
const atContainer = (shed, set) => code => {
	const found = containerOf(code, stocked(shed))
	return found ? {set: set(found), says: found.container} : {unknown: numberOf(code) || code}
}

// calendarDay is a day without a time, which is the same day everywhere.
const calendarDay = date => new Date(date + "T12:00").toLocaleDateString(lang, {weekday: "short", day: "numeric", month: "short"})
const moment = time => new Date(time).toLocaleString(lang, {weekday: "short", day: "numeric", month: "short", hour: "numeric", minute: "2-digit"})
const day = time => new Date(time).toLocaleDateString(lang, {day: "numeric", month: "short"})

const tankOption = (now, t) => ({
	value: "tank:" + t.tank_id, label: t.name,
	note: [t.held_kg > 0 ? now.w.mass(t.held_kg) : say("empty"), t.hose_mark && say("hose", t.hose_mark)].filter(Boolean).join(" · "),
})
const fullFirst = tanks => [...tanks.filter(t => t.held_kg > 0), ...tanks.filter(t => !(t.held_kg > 0))]
const emptyFirst = tanks => [...tanks.filter(t => !(t.held_kg > 0)), ...tanks.filter(t => t.held_kg > 0)]
const tankOf = (now, value) => now.shed.tanks.find(t => "tank:" + t.tank_id === value)
const runOf = (now, value) => now.shed.runs.find(r => r.run_id === value)
// The run that was begun last is the one at the extractor (common practice).
const runOption = r => ({value: r.run_id, label: r.name, note: day(r.started_at)})

export const kinds = {}

kinds.reading = now => {
	const s = now.shed
	const instruments = s.instruments.toSorted((a, b) => rankOf(a) - rankOf(b))
	const instrument = instruments.find(i => i.instrument_id === now.v.instrument)
	const likeliest = instruments.filter(i => i.scale === instruments[0].scale)
	const scale = scales[(instrument ?? instruments[0])?.scale ?? "moisture"]
	const on = now.v.on
	return {
		title: say("moisture"),
		ask: instrument && askCheck(s, instrument.instrument_id),
		scan: atContainer(s, c => ({on: "container:" + c.fill_id})),
		lacks: instruments.length === 0 ? say("no refractometer") : undefined,
		fields: [
			choice("on", say("what was read"), [
				...stocked(s).filter(c => on === "container:" + c.fill_id).map(c => ({value: on, label: c.container, note: say("container")})),
				...fullFirst(s.tanks).map(t => tankOption(now, t)),
				...s.runs.map(r => ({value: "run:" + r.run_id, label: r.name, note: say("run")})),
				...s.pulls.map(p => ({value: "pull:" + p.pull_id, label: p.yard, note: say("boxes of", day(p.pulled_at))})),
				...s.lots.map(l => ({value: "lot:" + l.lot_id, label: l.code, note: say("lot")})),
			]),
			choice("instrument", say("instrument"), instruments.map(i => ({value: i.instrument_id, label: i.name, note: say("shows " + i.scale)})), {
				usual: "ever", otherwise: likeliest.length === 1 ? likeliest[0].instrument_id : undefined,
			}),
			number("shown", say("shown"), scale.what, scale),
			choice("point", say("where drawn"), ["gate", "top", "middle", "bottom", "mixed"].map(p => ({value: p, label: say(p)})), {details: true, usual: "ever", otherwise: "gate"}),
			number("sample", say("sample temperature"), "temperature", {optional: true, details: instrument?.compensates_temperature ?? true, api: "sample_temperature_c"}),
		],
		opinion: () => ofReading({shed: s, instrument, typed: now.v.shown, shown: now.n("shown"), tank: tankOf(now, on), on, point: now.v.point, sampleC: now.n("sample")}),
		entries: () => [{path: "readings", body: given({
			on: placeOf(on), point: now.v.point, instrument_id: instrument.instrument_id, [scale.api]: now.n("shown"), sample_temperature_c: tenth(now.n("sample")),
		})}],
	}
}

// isDue reports whether an instrument's check holds no more, or left it wrong.
export function isDue(check, now = Date.now()) {
	if (check.left_wrong) return true
	return check.check_every_days > 0 && (!check.checked_at || now - new Date(check.checked_at) > check.check_every_days * 864e5)
}

// askCheck asks for an instrument's check before it is read from, where that is due.
function askCheck(shed, id) {
	const check = shed.checks?.find(c => c.instrument_id === id)
	if (!check || !isDue(check)) return
	const text = check.left_wrong ? say("left wrong", check.name) : check.checked_at ? say("check due", check.name, day(check.checked_at)) : say("never checked", check.name)
	return {text, href: "#check", label: say("check now")}
}

// What an instrument's own scale shows, whatever the outfit's units; of others nobody knows
// the unit.
const scaleOf = check => scales[check?.scale] ?? {kg: {what: "kg", places: 2}, celsius: {what: "celsius", places: 1}}[check?.scale] ?? {what: "count", places: 3}

kinds.check = now => {
	const checks = (now.shed.checks ?? []).toSorted((a, b) => isDue(b) - isDue(a))
	const due = checks.filter(c => isDue(c))
	const check = checks.find(c => c.instrument_id === now.v.instrument)
	const {what, places} = scaleOf(check)
	const shown = v => v === undefined ? undefined : show(v, places)
	const of = check?.instrument_id
	const left = Number.isNaN(now.n("left")) ? now.n("found") : now.n("left")
	return {
		title: say("check"),
		lacks: checks.length === 0 ? say("no instrument") : undefined,
		fields: [
			choice("instrument", say("instrument checked"), checks.map(c => ({
				value: c.instrument_id, label: c.name, note: isDue(c) ? say("due") : c.checked_at ? say("checked on", day(c.checked_at)) : say("not checked yet"),
			})), {fresh: true, value: due.length === 1 ? due[0].instrument_id : undefined}),
			...(check ? [
				text("reference", say("reference"), {value: check.reference, follows: of, maxlength: 80}),
				number("expected", say("should show"), what, {places, value: shown(check.expected), follows: of}),
				number("found", say("shown"), what, scaleOf(check)),
				number("left", say("after adjusting"), what, {places, optional: true}),
				number("tolerance", say("tolerance"), what, {places, value: shown(check.tolerance), follows: of}),
			] : []),
		],
		opinion: () => ofCheck({check, expected: now.n("expected"), found: now.n("found"), left, tolerance: now.n("tolerance"), shown}),
		entries: () => [{path: "calibrations", body: {
			instrument_id: of, reference: now.v.reference.trim(), expected: now.n("expected"), as_found: now.n("found"), as_left: left, tolerance: now.n("tolerance"),
		}}],
	}
}

kinds.hives = now => ({
	title: say("hives"),
	lacks: now.shed.yards.length === 0 ? say("no yard") : undefined,
	fields: [
		choice("yard", say("yard"), now.shed.yards.map(y => ({value: y.yard_id, label: y.name}))),
		number("hives", say("how many hives"), "count", {places: 0, api: "hives"}),
		text("name", say("which hives"), {value: say("count of", new Date().toLocaleDateString(lang, {day: "numeric", month: "long"})), remember: "name", today: true, maxlength: 80}),
	],
	opinion: () => [],
	entries: () => [{path: "hive-counts", body: {yard_id: now.v.yard, name: now.v.name.trim(), hives: now.n("hives")}}],
})

// What somebody may have seen, and what the book calls it. Foam, gas and the smell of them
// are fermenting.
const signs = {
	foam: {what: "fermentation", word: "present"},
	smell: {what: "fermentation", word: "present"},
	off: {what: "objectionable_flavour_aroma_taint", word: "present"},
	clear: {what: "fermentation", word: "absent"},
}

kinds.signs = now => {
	const s = now.shed
	const stock = s.stock ?? []
	const lots = [...stock, ...s.lots.filter(l => !stock.some(o => o.lot_id === l.lot_id))]
	const lot = lots.find(l => "lot:" + l.lot_id === now.v.on)
	const drums = lot?.containers ?? []
	const drum = drums.find(c => "container:" + c.fill_id === now.v.drum)
	const sign = signs[now.v.sign]
	const words = {foam: say("foam or gas"), smell: say("smell of fermenting")}
	return {
		title: say("signs"),
		scan: atContainer(s, c => ({on: "lot:" + c.lot_id, drum: "container:" + c.fill_id})),
		lacks: s.tanks.length + lots.length === 0 ? say("no tank") : undefined,
		fields: [
			choice("on", say("where seen"), [
				...lots.map(l => ({value: "lot:" + l.lot_id, label: l.code, note: say("lot")})),
				...fullFirst(s.tanks).map(t => tankOption(now, t)),
			]),
			...(drums.length > 0 ? [choice("drum", say("which container"), [
				{value: "lot", label: say("whole lot")}, ...drums.map(c => ({value: "container:" + c.fill_id, label: c.container})),
			], {fresh: true})] : []),
			choice("sign", say("what was seen"), [
				{value: "foam", label: say("foam or gas")}, {value: "smell", label: say("smell of fermenting")},
				{value: "off", label: say("another bad smell")}, {value: "clear", label: say("nothing of it")},
			], {fresh: true}),
		],
		opinion: () => sign && (lot || tankOf(now, now.v.on)) ? ofSigns({sign, lot, drum, tank: tankOf(now, now.v.on)}) : [],
		entries: () => [{path: "readings", body: given({on: placeOf(drum ? now.v.drum : now.v.on), observed: [sign], note: words[now.v.sign]})}],
	}
}

// A refractometer for honey mostly shows moisture (common practice): on a device that
// never used one, such an instrument comes first.
const rankOf = instrument => Object.keys(scales).indexOf(instrument.scale)

kinds.pull = now => {
	const s = now.shed
	const counts = s.super_kinds.map(k => ({kind: k, supers: now.n("n-" + k.super_kind_id)})).filter(c => c.supers > 0)
	return {
		title: say("pull"),
		lacks: s.yards.length === 0 ? say("no yard") : s.super_kinds.length === 0 ? say("no super kind") : undefined,
		fields: [
			choice("yard", say("yard"), s.yards.map(y => ({value: y.yard_id, label: y.name}))),
			...s.super_kinds.map(k => number("n-" + k.super_kind_id, say("supers of kind", k.name), "count", {places: 0, optional: true, api: "supers_" + k.name})),
			number("hives", say("hives worked"), "count", {places: 0, optional: true, api: "hives_worked"}),
			number("gross", say("gross of all"), "mass", {optional: true, api: "gross_kg"}),
			choice("room", say("hot room"), s.rooms.filter(r => r.use === "hot_room").map(r => ({value: r.room_id, label: r.name})), {details: true, optional: true}),
		],
		missing: () => counts.length === 0 ? say("how many supers") : undefined,
		opinion: () => ofPull({counts, gross: now.n("gross"), w: now.w}),
		entries: () => [{path: "pulls", body: given({
			yard_id: now.v.yard, supers: counts.map(c => ({super_kind_id: c.kind.super_kind_id, supers: c.supers})),
			hives_worked: now.n("hives"), gross_kg: kg(now.n("gross")), room_id: now.v.room,
		})}],
	}
}

kinds.start = now => ({
	title: say("start run"),
	fields: [
		text("name", say("name of run"), {value: freeName(now), maxlength: 80}),
		number("frames", say("frames each side"), "count", {places: 0, value: "30", remember: "frames", api: "frames_per_side"}),
	],
	opinion: () => ofRunStart({shed: now.shed, name: now.v.name}),
	entries: () => [{path: "runs", body: {name: now.v.name, frames_per_side: now.n("frames")}}],
})

function freeName(now) {
	const today = new Date().toLocaleDateString(lang, {day: "numeric", month: "long"})
	const taken = now.shed.runs.filter(r => r.name.startsWith(today)).length
	return taken === 0 ? today : `${today} (${taken + 1})`
}

kinds.supers = now => {
	const s = now.shed
	const [pull, kind] = (now.v.pull ?? "").split(":")
	const left = s.pulls.find(p => p.pull_id === pull)?.supers.find(c => c.super_kind_id === kind)?.supers
	const nameOf = id => s.super_kinds.find(k => k.super_kind_id === id)?.name ?? ""
	return {
		title: say("supers in"),
		lacks: s.runs.length === 0 ? say("no run open") : s.pulls.length === 0 ? say("no supers left") : undefined,
		fields: [
			choice("run", say("run"), s.runs.map(runOption), {fresh: true, value: s.runs[0]?.run_id}),
			choice("pull", say("from pull"), s.pulls.flatMap(p => p.supers.filter(c => c.supers > 0).map(c => ({
				value: p.pull_id + ":" + c.super_kind_id, label: p.yard, note: say("left of pull", day(p.pulled_at), show(c.supers), nameOf(c.super_kind_id)),
			}))), {fresh: true}),
			number("supers", say("how many"), "count", {places: 0, api: "supers"}),
		],
		opinion: () => ofSupers({left, supers: now.n("supers")}),
		entries: () => [{path: "run-supers", of: s.pulls.find(p => p.pull_id === pull), body: {run_id: now.v.run, pull_id: pull, super_kind_id: kind, supers: now.n("supers")}}],
	}
}

kinds.load = now => {
	const run = runOf(now, now.v.run) ?? now.shed.runs[0]
	const frames = show(run?.frames_per_side ?? 30)
	return {
		title: say("load"),
		lacks: run ? undefined : say("no run open"),
		fields: [
			choice("run", say("run"), now.shed.runs.map(runOption), {fresh: true, value: run?.run_id}),
			number("load", say("load number"), "count", {places: 0, value: show((run?.last_load ?? 0) + 1), api: "load"}),
			number("left", say("frames left"), "count", {places: 0, value: frames, remember: "left", api: "frames_left"}),
			number("right", say("frames right"), "count", {places: 0, value: frames, remember: "right", api: "frames_right"}),
		],
		opinion: () => ofLoad({run, load: now.n("load"), left: now.n("left"), right: now.n("right")}),
		entries: () => [{path: "loads", body: {run_id: run.run_id, load: now.n("load"), frames_left: now.n("left"), frames_right: now.n("right")}}],
	}
}

kinds.end = now => {
	const run = runOf(now, now.v.run)
	return {
		title: say("end run"),
		lacks: now.shed.runs.length === 0 ? say("no run open") : undefined,
		fields: [
			choice("run", say("run"), now.shed.runs.map(runOption), {fresh: true}),
			number("wax", say("wax"), "mass", {optional: true, api: "wax_kg"}),
			number("empties", say("empties"), "mass", {optional: true, api: "empties_kg"}),
			number("aside", say("set aside"), "count", {places: 0, optional: true, api: "set_aside_frames"}),
		],
		opinion: () => ofRunEnd({run, wax: now.n("wax"), w: now.w}),
		entries: () => [{path: "run-ends", of: run, body: given({run_id: now.v.run, wax_kg: kg(now.n("wax")), empties_kg: kg(now.n("empties")), set_aside_frames: now.n("aside")})}],
	}
}

kinds.transfer = now => moving(now, say("transfer"), [
	...now.shed.runs.map(r => ({value: "run:" + r.run_id, label: r.name, note: say("run")})),
	...fullFirst(now.shed.tanks).map(t => tankOption(now, t)),
	...(stocked(now.shed).length > 0 ? [{value: "container", label: say("a container"), note: say("emptied into a tank")}] : []),
])

function moving(now, title, sources, likely) {
	const s = now.shed
	const from = {tank: tankOf(now, now.v.from), run: s.runs.find(r => "run:" + r.run_id === now.v.from)}
	const drum = now.v.from === "container" ? numbered(s, now.v.container) : undefined
	const all = from.tank?.held_kg > 0 ? [{label: say("all of it", now.w.mass(from.tank.held_kg)), set: {mass: show(now.w.u.mass.fromBook(from.tank.held_kg), 1)}}] : []
	return {
		title,
		lacks: s.tanks.length === 0 ? say("no tank") : undefined,
		fields: [
			choice("from", say("from"), sources, {value: likely}),
			// Honey goes the way it went last today, until that tank is chosen no more.
			choice("to", say("to"), [
				...s.tanks.filter(t => t !== from.tank).map(t => tankOption(now, t)),
				...(from.tank ? [{value: "waste", label: say("waste")}] : []),
			], {remember: "to of " + now.v.from, usual: now.v.from && "today"}),
			...(now.v.from === "container" ? [text("container", say("container number"), {maxlength: 40})] : []),
			number("mass", say("honey"), "mass", {api: "mass_kg", offers: all, optional: now.v.from === "container"}),
		],
		scan: sources.some(o => o.value === "container") ? atContainer(s, c => ({from: "container", container: c.container})) : undefined,
		missing: () => now.v.from === "container" && !drum ? say("no such container", now.v.container) : undefined,
		opinion: () => ofTransfer({shed: s, from: from.tank || from.run ? from : undefined, to: tankOf(now, now.v.to), mass: now.n("mass"), w: now.w}),
		entries: () => [{path: "movements", body: given({from: drum ? {kind: "container", id: drum.fill_id} : placeOf(now.v.from), to: placeOf(now.v.to), mass_kg: kg(now.n("mass"))})}],
	}
}

// Honey comes out of the run that was begun last.
kinds.out = now => ({
	...moving(now, say("honey out"), now.shed.runs.map(r => ({value: "run:" + r.run_id, label: r.name, note: day(r.started_at)})), now.shed.runs[0] && "run:" + now.shed.runs[0].run_id),
	lacks: now.shed.runs.length === 0 ? say("no run open") : now.shed.tanks.length === 0 ? say("no tank") : undefined,
})

kinds.fill = now => {
	const s = now.shed
	const isNew = now.v.lot === "new"
	const lot = s.lots.find(l => l.lot_id === now.v.lot)
	const open = s.lots.filter(l => l.status !== "held")
	const full = s.tanks.filter(t => t.held_kg > 0)
	const kind = s.container_kinds.find(k => k.container_kind_id === now.v.kind)
	return {
		title: say("fill"),
		stays: true,
		scan: code => {
			const number = containerOf(code, stocked(s))?.container ?? numberOf(code)
			return number ? {set: {container: number}, says: number} : {unknown: code}
		},
		lacks: s.tanks.length === 0 ? say("no tank") : s.container_kinds.length === 0 ? say("no container kind") : undefined,
		fields: [
			choice("lot", say("lot"), [...s.lots.map(l => ({value: l.lot_id, label: l.code, note: l.product})), {value: "new", label: say("new lot")}], {usual: "today", otherwise: open.length === 1 ? open[0].lot_id : undefined}),
			...(isNew ? [text("code", say("lot code"), {maxlength: 40})] : []),
			choice("tank", say("tank"), fullFirst(s.tanks).map(t => ({...tankOption(now, t), value: t.tank_id})), {
				value: full.find(t => t.tank_id === lot?.last_tank_id)?.tank_id, otherwise: full.length === 1 ? full[0].tank_id : undefined,
			}),
			choice("kind", say("container kind"), s.container_kinds.map(k => ({value: k.container_kind_id, label: k.name, note: now.w.volume(k.volume_l)})), {value: lot?.last_container_kind_id, usual: "ever"}),
			text("container", say("container number"), {value: nextNumber(lot?.last_container), follows: lot?.last_container, maxlength: 40}),
			number("tare", say("tare"), "mass", {value: kind && show(now.w.u.mass.fromBook(lot?.last_container_kind_id === kind.container_kind_id ? lot.last_tare_kg : kind.usual_tare_kg), 1), follows: kind?.container_kind_id, remember: kind && "tare-" + kind.container_kind_id, api: "tare_kg"}),
			number("gross", say("gross"), "mass", {api: "gross_kg", once: true}),
		],
		opinion: () => kind ? ofFill({kind, tank: s.tanks.find(t => t.tank_id === now.v.tank), gross: now.n("gross"), tare: now.n("tare"), container: now.v.container ?? "", queued: now.queued, w: now.w}) : [],
		entries: () => {
			const fill = lotID => ({path: "fills", body: {
				lot_id: lotID, tank_id: now.v.tank, container_kind_id: now.v.kind, container: now.v.container.trim(), tare_kg: kg(now.n("tare")), gross_kg: kg(now.n("gross")),
			}})
			if (!isNew) return [fill(now.v.lot)]
			const id = now.newID()
			return [{path: "lots", body: {id, code: now.v.code.trim()}}, fill(id)]
		},
		// The next drum of a lot that was new is one of that lot.
		next: made => isNew ? {lot: made[0].body.id} : {},
	}
}

// What a manager prepared is loaded: container by container, by code or by touch. The device
// takes no other one on.
kinds.dispatch = now => {
	const plans = now.shed.prepared ?? []
	const plan = plans.find(p => p.prepared_id === now.v.plan)
	const ids = (now.v.loaded ?? "").split(" ")
	const on = plan?.containers.filter(c => ids.includes(c.fill_id)) ?? []
	const missing = plan ? notOn(plan, on) : []
	const due = plans.filter(p => new Date(p.leaves_on) <= new Date(now.at))
	return {
		title: say("dispatch"),
		scan: code => goesOn(plan ? [plan] : plans, code, ids),
		lacks: plans.length === 0 ? say("none prepared") : undefined,
		note: plan?.note,
		save: on.length > 0 ? say("save so many", show(on.length), show(plan.asked)) : undefined,
		fields: [
			choice("plan", say("which dispatch"), plans.map(p => ({
				value: p.prepared_id, label: p.buyer, note: [calendarDay(p.leaves_on), say("asked for", show(p.asked)), p.reference].filter(Boolean).join(" · "),
			})), {fresh: true, value: due.length === 1 ? due[0].prepared_id : undefined}),
			...(plan ? [ticks("loaded", say("goes on the truck"), plan.containers.map(c => ({
				value: c.fill_id, label: c.container, note: [say("of lot", c.lot), c.emptied ? say("emptied") : c.stays].filter(Boolean).join(" · "),
			})), {optional: true, says: say("on the truck", show(on.length), show(plan.asked))})] : []),
		],
		missing: () => on.length === 0 ? say("nothing is on") : undefined,
		opinion: () => ofLoading({plan, on, missing}),
		entries: () => [{path: "dispatches", body: given({
			buyer_id: plan.buyer_id, prepared_id: plan.prepared_id, market: plan.market, reference: plan.reference, containers: on.map(c => c.fill_id),
		})}],
	}
}

// What a manager wants blended is poured: one container or tank after the other, each a movement of
// its own.
kinds.blend = now => {
	const blends = now.shed.blends ?? []
	const blend = blends.find(b => b.blend_id === now.v.blend)
	const left = blend?.takes.filter(t => !t.done) ?? []
	const take = left.find(t => t.id === now.v.take)
	const poured = blend ? blend.takes.length - left.length : 0
	return {
		title: say("blend"),
		stays: true,
		lacks: blends.length === 0 ? say("no blend") : undefined,
		note: blend?.note,
		scan: code => {
			const found = containerOf(code, left.filter(t => t.kind === "container").map(t => ({fill_id: t.id, container: t.name})))
			return found ? {set: {take: found.fill_id}, says: found.container} : {unknown: numberOf(code) || code}
		},
		fields: [
			choice("blend", say("which blend"), blends.map(b => ({value: b.blend_id, label: b.title, note: say("into tank", b.tank)})), {fresh: true, value: blends.length === 1 ? blends[0].blend_id : undefined}),
			...(left.length > 0 ? [choice("take", say("what is poured"), left.map(t => ({
				value: t.id, label: t.name, note: [t.lot && say("of lot", t.lot), now.w.mass(t.mass_kg)].filter(Boolean).join(" · "),
			})), {fresh: true, value: left.length === 1 ? left[0].id : undefined})] : []),
			...(take ? [number("mass", say("honey"), "mass", {
				api: "mass_kg", optional: take.kind === "container", follows: take.id, value: take.kind === "tank" ? show(now.w.u.mass.fromBook(take.mass_kg), 1) : "",
			})] : []),
		],
		missing: () => blend && left.length === 0 ? say("all is poured") : undefined,
		opinion: () => ofBlend({blend, poured, take, mass: now.n("mass"), w: now.w}),
		entries: () => [{path: "movements", body: given({from: {kind: take.kind, id: take.id}, to: {kind: "tank", id: blend.tank_id}, mass_kg: kg(now.n("mass"))})}],
		next: () => ({blend: blend.blend_id, take: undefined}),
	}
}

// What a plan asks for is recorded as what it is: a temperature where a heater was set, a pull, a count of no hives
// where they were moved. What goes to a buyer, a manager prepares.
const ways = {
	heat: {kind: "temperature", on: s => ({on: s.about_kind + ":" + s.about_id})},
	pull: {kind: "pull", on: s => ({yard: s.about_id})},
	move: {kind: "hives", on: s => ({yard: s.about_id}), begins: {hives: "0"}},
}

const sayStep = (s, w) => s.does === "heat" ? s.set_c === undefined ? say("heater off", s.about) : say("heater at", s.about, w.temperature(s.set_c))
	: s.does === "move" ? say("move hives", s.about) : s.count > 0 ? say("pull so many", show(s.count), s.about) : say("pull there", s.about)

kinds.step = now => {
	const plans = stepsLeft(now.shed)
	const plan = plans.find(p => p.plan_id === now.v.plan)
	const step = plan?.steps.find(s => String(s.step) === now.v.step)
	const way = step && ways[step.does]
	const inner = way && kinds[way.kind]({...now, v: {...now.v, ...way.on(step)}})
	const begun = new Date(now.at)
	return {
		title: say("step"),
		stays: true,
		lacks: plans.length === 0 ? say("no step") : inner?.lacks,
		note: plan?.note,
		fields: [
			choice("plan", say("which plan"), plans.map(p => ({value: p.plan_id, label: p.title})), {fresh: true, value: plans.length === 1 ? plans[0].plan_id : undefined}),
			...(plan ? [choice("step", say("which step"), plan.steps.map(s => ({
				value: String(s.step), label: sayStep(s, now.w),
				note: s.at && say(new Date(s.at) > begun ? "not before" : "since then", moment(s.at)),
			})), {fresh: true, value: plan.steps.length === 1 ? String(plan.steps[0].step) : undefined})] : []),
			...(inner ? inner.fields.filter(f => !(f.name in way.on(step))).map(f => ({...f, follows: plan.plan_id + now.v.step, value: way.begins?.[f.name] ?? f.value})) : []),
		],
		missing: () => inner?.missing?.(),
		opinion: () => inner?.opinion() ?? [],
		entries: () => inner.entries(),
		next: () => ({plan: plan.plan_id, step: undefined}),
	}
}

// stepsLeft are the plans of which the crew has steps to do.
export const stepsLeft = shed => (shed?.plans ?? []).map(p => ({...p, steps: p.steps.filter(s => s.does in ways)})).filter(p => p.steps.length > 0)

// notOn names what was prepared and is not on: containers, and how many of which lot.
function notOn(plan, on) {
	const counted = new Set(plan.lots.map(l => l.lot_id))
	return [
		...plan.containers.filter(c => !counted.has(c.lot_id) && !on.includes(c)).map(c => c.container),
		...plan.lots.flatMap(l => {
			const left = l.count - on.filter(c => c.lot_id === l.lot_id).length
			return left > 0 ? [say("so many of lot", show(left), plan.containers.find(c => c.lot_id === l.lot_id)?.lot ?? "")] : []
		}),
	]
}

// goesOn is what a code means at the truck: a container goes on, is on already, or was not
// prepared.
function goesOn(plans, code, ids) {
	for (const plan of plans) {
		const found = containerOf(code, plan.containers)
		if (!found) continue
		const so = plan.containers.filter(c => ids.includes(c.fill_id)).length
		if (ids.includes(found.fill_id)) return {text: say("is on already", found.container, show(so), show(plan.asked))}
		return {set: {plan: plan.prepared_id, loaded: [...ids, found.fill_id].filter(Boolean).join(" ")}, text: say("is on", found.container, show(so + 1), show(plan.asked))}
	}
	return {text: say("was not prepared", numberOf(code) || code), odd: true}
}

// nextNumber counts the last figures of a container's number on: D-009 to D-010.
function nextNumber(last) {
	const found = /^(.*?)(\d+)(\D*)$/.exec(last ?? "")
	return found ? found[1] + String(Number(found[2]) + 1).padStart(found[2].length, "0") + found[3] : ""
}

kinds.temperature = now => {
	const s = now.shed
	return {
		title: say("temperature"),
		lacks: s.tanks.length + s.rooms.length === 0 ? say("no tank") : undefined,
		fields: [
			choice("on", say("what was measured"), [
				...fullFirst(s.tanks).map(t => tankOption(now, t)),
				...s.rooms.map(r => ({value: "room:" + r.room_id, label: r.name, note: say("room")})),
			]),
			number("value", say("temperature"), "temperature", {api: "temperature_c"}),
		],
		opinion: () => ofTemperature({c: now.n("value"), typed: now.v.value, w: now.w}),
		entries: () => [{path: "temperature-logs", body: {on: placeOf(now.v.on), points: [{at: now.at, temperature_c: tenth(now.n("value"))}]}}],
	}
}

kinds.stocktake = now => {
	const s = now.shed
	const tank = s.tanks.find(t => t.tank_id === now.v.tank)
	const how = !tank ? [] : !tank.dip
		? [number("mass", say("honey"), "mass", {api: "mass_kg"})]
		: [number("depth", say("dip"), "depth", {api: "depth_cm"}), number("c", say("honey temperature"), "temperature", {remember: "dip-c", today: true, api: "temperature_c"})]
	return {
		title: say("stocktake"),
		lacks: s.tanks.length === 0 ? say("no tank") : undefined,
		fields: [
			choice("tank", say("tank"), fullFirst(s.tanks).map(t => ({...tankOption(now, t), value: t.tank_id}))),
			...how,
			number("foam", say("foam"), "depth", {optional: true, details: true, api: "foam_cm"}),
		],
		note: tank && !tank.dip ? say("shape unknown", tank.name) : undefined,
		opinion: () => ofStocktake({tank, depth: now.n("depth"), c: now.n("c"), mass: now.n("mass"), w: now.w}),
		entries: () => [{path: "stocktakes", massKg: tank.dip ? dipKg(tank, now.n("depth"), now.n("c")) : undefined, body: given({
			tank_id: tank.tank_id, method: "dip", mass_kg: tank.dip ? undefined : kg(now.n("mass")), foam_cm: tenth(now.n("foam")),
			depth_cm: tank.dip ? Math.round(100 * now.n("depth")) / 100 : undefined, temperature_c: tank.dip ? tenth(now.n("c")) : undefined,
		})}],
	}
}

kinds.wash = now => {
	const s = now.shed
	return {
		title: say("wash"),
		lacks: s.tanks.length === 0 ? say("no tank") : undefined,
		fields: [
			choice("tank", say("tank"), emptyFirst(s.tanks).map(t => ({...tankOption(now, t), value: t.tank_id}))),
			text("with", say("washed with"), {optional: true, details: true, maxlength: 80}),
		],
		opinion: () => ofWash({tank: s.tanks.find(t => t.tank_id === now.v.tank), w: now.w}),
		entries: () => [{path: "washes", body: given({tank_id: now.v.tank, with: now.v.with})}],
	}
}
