// What the book thinks of an entry before it is saved, from what the device knows
// of it. An opinion is fine, odd (stored all the same, and flagged) or wrong (the
// book would refuse it), and may offer what was meant instead.

import { show } from "./numbers.js"
import { onScale, scales } from "./scales.js"
import { say } from "./words.js"

const fine = text => ({level: "fine", text})
const odd = (text, ...fixes) => ({level: "odd", text, fixes: fixes.filter(Boolean)})
const wrong = (text, ...fixes) => ({level: "wrong", text, fixes: fixes.filter(Boolean)})

// between reads a line from a table of lines, going straight between them; nothing
// outside it.
export function between(lines, x, at, ...values) {
	for (let i = 1; i < lines.length; i++) {
		const a = lines[i - 1], b = lines[i]
		if (a[at] <= x && x <= b[at]) {
			const part = (x - a[at]) / (b[at] - a[at])
			return values.map(v => a[v] + part * (b[v] - a[v]))
		}
	}
}

// Honey reads drier warm: by about 0.09 points a degree above 20 °C, as AOAC
// 969.38 corrects.
const dryerPerC = 0.09

// The usual range of a moisture, percent (common practice).
const seldomBelow = 14, seldomAbove = 21

// moistureOf is what a figure on an instrument means; nothing where it means none.
export function moistureOf(instrument, shown, sampleC) {
	const got = between(instrument.shown, shown, "shown", "moisture_pct", "std_uncertainty_pct")
	if (!got) return
	const said = !Number.isNaN(sampleC ?? NaN)
	const warm = instrument.compensates_temperature || !said ? 0 : sampleC - 20
	return {pct: got[0] - dryerPerC * warm, sd: Math.hypot(got[1], said ? 0 : instrument.unsaid_temperature_pct ?? 0)}
}

// howWarm asks for the sample's temperature where the instrument does not correct for it.
function howWarm(instrument, m, sampleC) {
	if (instrument.compensates_temperature || !Number.isNaN(sampleC ?? NaN)) return []
	return [odd(say("how warm was it", instrument.name, show(m.sd, 1)))]
}

// readWithAnother offers the instruments that can show what was typed.
function readWithAnother(shed, instrument, typed) {
	return shed.instruments.filter(i => i.scale !== instrument?.scale).flatMap(i => {
		const text = onScale(i, typed)
		return text ? [{label: say("is " + i.scale, text, i.name), set: {instrument: i.instrument_id, shown: text}}] : []
	}).slice(0, mostOffers)
}

const mostOffers = 3

export function ofReading(asked) {
	const {instrument, shown, sampleC} = asked
	if (Number.isNaN(shown)) return []
	if (!instrument) {
		const offers = readWithAnother(asked.shed, undefined, asked.typed)
		return offers.length > 0 ? [odd(say("which instrument"), ...offers)] : []
	}
	const m = moistureOf(instrument, shown, sampleC)
	return [...ofMoisture(asked, m), ...(m ? howWarm(instrument, m, sampleC) : [])]
}

function ofMoisture({shed, instrument, typed, shown, on, tank, point}, m) {
	const {places} = scales[instrument.scale]
	const others = readWithAnother(shed, instrument, typed)
	if (!m) {
		const first = instrument.shown[0].shown, last = instrument.shown.at(-1).shown
		return [wrong(say("no honey shows", typed, instrument.name, show(first, places), show(last, places)), ...others)]
	}
	if (typed.split(/[.,]/)[1]?.length > places && others.length > 0) return [odd(say("finer than shown", instrument.name, typed), ...others)]
	return ofTank({shed, instrument, shown, on, tank, point}, m)
}

// ofTank holds a moisture against what is expected where it was read.
function ofTank({shed, instrument, shown, on, tank, point}, m) {
	const layers = point === "mixed" ? 0.5 : 1
	const off = t => Math.abs(m.pct - t.expected.moisture_pct) / Math.hypot(t.expected.moisture_std_uncertainty_pct, t.sample_std_uncertainty_pct * layers, m.sd)
	const others = shed.tanks.filter(t => t !== tank && t.expected && t.held_kg > 0 && off(t) < shed.fitting_deviations)
		.sort((a, b) => Math.abs(m.pct - a.expected.moisture_pct) - Math.abs(m.pct - b.expected.moisture_pct))
	const itIs = others.slice(0, 2).map(t => ({label: say("it is", t.name), set: {on: "tank:" + t.tank_id}}))
	if (!on && itIs.length > 0) return [{...fine(say("moisture is", show(m.pct, 1))), fixes: itIs}]
	if (!tank) return [m.pct < seldomBelow || m.pct > seldomAbove ? odd(say("seldom so moist", show(m.pct, 1))) : fine(say("moisture is", show(m.pct, 1)))]
	if (!tank.expected || tank.held_kg === 0) return [tank.held_kg === 0 ? odd(say("book has empty", tank.name)) : fine(say("nothing expected", tank.name))]
	const expected = show(tank.expected.moisture_pct, 1)
	if (off(tank) <= shed.unfitting_deviations) return [fine(say("fits expected", expected))]
	const swapped = swapDigits(shown)
	const slip = instrument.scale === "moisture" && off({...tank, expected: {...tank.expected, moisture_pct: tank.expected.moisture_pct + m.pct - swapped}}) < shed.fitting_deviations
	const got = show(m.pct, 1)
	return [odd(others.length > 0 ? say("expected is this other", expected, got, others[0].name) : say("expected you typed", expected, got),
		...itIs,
		slip && {label: say("it is", show(swapped, 1)), set: {shown: show(swapped, 1)}})]
}

// swapDigits changes the last two of three figures: 17.6 to 16.7.
function swapDigits(pct) {
	const tenths = Math.round(pct * 10)
	return (Math.floor(tenths / 100) * 100 + tenths % 10 * 10 + Math.floor(tenths / 10) % 10) / 10
}

// A weight over the usual near the number of pounds in a kilogram, or its inverse.
const likePounds = ratio => 1.98 < ratio && ratio < 2.43 || 0.41 < ratio && ratio < 0.5

export function ofPull({counts, gross, w}) {
	const supers = counts.reduce((n, c) => n + c.supers, 0)
	if (!(supers > 0) || !(gross > 0)) return []
	const sum = f => counts.reduce((n, c) => n + c.supers * f(c.kind), 0)
	const tare = sum(k => k.tare_kg), usual = sum(k => k.usual_net_kg), most = sum(k => k.fullest_net_kg)
	const each = w.mass((gross - tare) / supers), usually = w.mass(usual / supers)
	if (likePounds(gross / (tare + usual))) return [odd(say("like other unit", w.mass(gross), w.mass(tare + usual)))]
	if (gross <= tare) return [odd(say("lighter than empty", w.mass(tare)))]
	if (gross - tare > most) return [odd(say("heavier than full", each, w.mass(most / supers)))]
	return [fine(say("a super holds", each, usually))]
}

export function ofRunStart({shed, name}) {
	const same = shed.runs.find(r => r.name === name)
	if (same) return [odd(say("run of this name", same.name))]
	return shed.runs.length > 0 ? [odd(say("run open still", shed.runs[0].name))] : []
}

export function ofSupers({left, supers}) {
	if (!(supers > 0) || left === undefined) return []
	return supers > left ? [odd(say("only so many left", show(left)))] : [fine(say("so many stay", show(left - supers)))]
}

export function ofLoad({run, load, left, right}) {
	if (!run) return []
	for (const n of [left, right]) if (n > run.frames_per_side) return [wrong(say("frames a side", show(run.frames_per_side)))]
	if (left + right === 0) return [wrong(say("load of none"))]
	return load <= run.last_load ? [odd(say("load is in", show(load)))] : []
}

// Wax beyond these parts of the honey is unusual (common practice), percent.
const leastWax = 0.5, mostWax = 3

export function ofRunEnd({run, wax, w}) {
	if (!run) return []
	if (run.honey_kg === 0) return [odd(say("no honey yet", run.name))]
	if (!(wax > 0)) return []
	const pct = 100 * wax / run.honey_kg
	return [(pct < leastWax || pct > mostWax ? odd : fine)(say("wax is", show(pct, 1), w.mass(run.honey_kg)))]
}

export function ofTransfer({shed, from, to, mass, w}) {
	if (!(mass > 0) || !from) return []
	const out = []
	if (from.tank && mass > from.tank.held_kg) out.push(odd(say("book has only", w.mass(from.tank.held_kg), from.tank.name)))
	if (from.run) {
		const most = from.run.supers_in * Math.max(0, ...shed.super_kinds.map(k => k.fullest_net_kg))
		if (from.run.supers_in > 0 && from.run.honey_kg + mass > most) out.push(odd(say("more than boxes", w.mass(from.run.honey_kg + mass), show(from.run.supers_in))))
	}
	if (to) {
		const after = to.held_kg + mass
		const full = 100 * after / to.capacity_kg
		const level = `${to.name} ${w.mass(to.held_kg)} → ${w.mass(after)}` + (to.capacity_kg > 0 ? say("level full", show(full)) : "")
		out.push(to.capacity_kg > 0 && after > to.capacity_kg ? odd(say("over capacity", level)) : fine(level))
	}
	return out
}

// A net further than this from the usual is worth a second look (common practice).
const usualSpread = 0.05

export function ofFill({kind, tank, gross, tare, container, last, queued, w}) {
	const out = []
	if (container && queued.includes(container.toLowerCase())) out.push(wrong(say("number taken", container)))
	if (!(gross > 0) || Number.isNaN(tare)) return out
	const net = gross - tare
	if (net <= 0) out.push(wrong(say("gross below tare", w.mass(tare))))
	else if (net > kind.most_net_kg) out.push(wrong(say(likePounds(net / kind.usual_net_kg) ? "like other unit" : "holds at most", w.mass(net), w.mass(likePounds(net / kind.usual_net_kg) ? kind.usual_net_kg : kind.most_net_kg))))
	else if (likePounds(net / kind.usual_net_kg)) out.push(odd(say("like other unit", w.mass(net), w.mass(kind.usual_net_kg))))
	else if (Math.abs(net - kind.usual_net_kg) > usualSpread * kind.usual_net_kg) out.push(odd(say("net unlike", w.mass(net), kind.name, w.mass(kind.usual_net_kg))))
	else out.push(fine(say("net is", w.mass(net), w.mass(kind.usual_net_kg))))
	if (net > 0 && tank && net > tank.held_kg) out.push(odd(say("book has only", w.mass(tank.held_kg), tank.name)))
	return out
}

export function ofTemperature({c, typed, w}) {
	if (Number.isNaN(c)) return []
	if (c > 95 || c < -40) {
		const meant = w.u.temperature.unit === "°C" ? (c - 32) / 1.8 : NaN
		return [wrong(say("no such temperature", typed), meant > -10 && meant < 95 && {label: say("it is", w.temperature(meant)), set: {value: show(meant, 1)}})]
	}
	if (c > 45) return [odd(say("warm darkens", w.temperature(45)))]
	return c < 5 ? [odd(say("cold for honey", w.temperature(c)))] : []
}

// A dip further than this from the book is worth another (common practice): parts
// of what the tank can hold.
const dipSpread = 0.03

// dipKg is what a dip comes to; nothing where the tank's shape is not known or the
// dip is outside it.
export function dipKg(tank, depth, c) {
	const litres = tank.dip && between(tank.dip, depth, "depth_cm", "litres")
	if (!litres || Number.isNaN(c)) return
	return litres[0] * (tank.kg_per_l_at_20c + (tank.kg_per_l_at_40c - tank.kg_per_l_at_20c) * (c - 20) / 20)
}

export function ofStocktake({tank, depth, c, mass, w}) {
	if (!tank) return []
	if (tank.dip && depth > tank.dip.at(-1).depth_cm) return [wrong(say("deeper than tank", w.depth(tank.dip.at(-1).depth_cm)))]
	const kg = tank.dip ? dipKg(tank, depth, c) : mass
	if (!(kg >= 0)) return []
	const off = kg - tank.held_kg
	const text = say("dip says", w.mass(kg), w.mass(tank.held_kg)) + " " + say(off < 0 ? "so much less" : "so much more", w.mass(Math.abs(off)))
	return [Math.abs(off) > dipSpread * tank.capacity_kg ? odd(text) : fine(text)]
}

export function ofWash({tank, w}) {
	if (!tank) return []
	return tank.held_kg > 0.02 * tank.capacity_kg ? [odd(say("washes away", tank.name, w.mass(tank.held_kg)))] : [fine(say("is empty", tank.name))]
}

// fewOf names the first of some things and counts the rest.
const mostNamed = 12
const fewOf = names => names.length > mostNamed ? say("and so many more", names.slice(0, mostNamed).join(", "), show(names.length - mostNamed)) : names.join(", ")

// ofLoading says how many of what was prepared are on, and which are not.
export function ofLoading({plan, on, missing}) {
	if (!plan) return []
	const out = plan.advice.map(text => odd(text))
	for (const l of plan.lots) {
		const loaded = on.filter(c => c.lot_id === l.lot_id)
		if (loaded.length > l.count) out.push(wrong(say("more of lot", loaded[0].lot, show(loaded.length), show(l.count))))
	}
	for (const c of on) {
		if (c.emptied) out.push(odd(say("was emptied here", c.container)))
		else if (c.stays) out.push(odd(say("would stay", c.container, c.stays)))
	}
	if (on.length === 0) return out
	out.push(missing.length > 0 ? odd(say("on the truck", show(on.length), show(plan.asked)) + " " + say("not on yet", fewOf(missing))) : fine(say("all are on", show(on.length))))
	return out
}

// ofBlend says how much of a blend is poured, and whether a mass is far from what was planned.
export function ofBlend({blend, poured, take, mass, w}) {
	if (!blend) return []
	const out = [fine(say("poured so far", show(poured), show(blend.takes.length)))]
	if (take && Math.abs(mass - take.mass_kg) > 0.05 * take.mass_kg) out.push(odd(say("planned otherwise", w.mass(take.mass_kg))))
	return out
}

export function ofSigns({sign, lot, drum, tank}) {
	if (sign.word === "absent") return []
	if (sign.what !== "fermentation") return [fine(say("taints it", drum?.container ?? lot?.code ?? tank.name))]
	if (tank) return [fine(say("foams its drums", tank.name))]
	return [fine(say("holds the lot", lot.code))]
}

// ofCheck says whether an instrument is right, by as much as is still good.
export function ofCheck({check, expected, found, left, tolerance, shown}) {
	if (!check || [expected, found, left, tolerance].some(Number.isNaN)) return []
	const room = 1e-9 // 20.1 - 19.9 is a little more than 0.2 in binary
	const off = shown(Math.abs(found - expected))
	if (Math.abs(left - expected) > tolerance + room) return [odd(say("left off", check.name, shown(Math.abs(left - expected)), shown(tolerance)))]
	if (Math.abs(found - expected) > tolerance + room) return [odd(say("found off", check.name, off, shown(tolerance)))]
	return [fine(say("is right", check.name, off))]
}
