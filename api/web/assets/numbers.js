// Figures as people in the reader's region write them, in the outfit's units.
// The book's are SI: kilograms, degrees Celsius, centimetres, litres.

export const lang = document.documentElement.lang || "en"

const parts = new Intl.NumberFormat(lang, {useGrouping: "always"}).formatToParts(12345.6)
export const mark = parts.find(p => p.type === "decimal").value
const group = parts.find(p => p.type === "group")?.value ?? ""

const formats = new Map()

// show writes v with so many places, and never -0.
export function show(v, places = 0) {
	if (!formats.has(places)) formats.set(places, new Intl.NumberFormat(lang, {minimumFractionDigits: places, maximumFractionDigits: places}))
	const rounded = Number(v.toFixed(places))
	return formats.get(places).format(rounded === 0 ? 0 : rounded).replace("-", "\u2212")
}

// read takes a figure as it is typed: with the region's decimal mark, or the
// other one where it can only be that. A mark with just three figures after it
// groups thousands, unless places is 3 or more. NaN for what is no figure.
export function read(text, places = 1) {
	let t = text.trim().replace(/[\s\u00a0\u202f]/g, "").replace("\u2212", "-")
	if (!/^-?[\d.,'’]*\d[.,]?$/.test(t)) return NaN
	t = t.replace(/['’]/g, "")
	const marks = t.match(/[.,]/g) ?? []
	if (marks.length === 0) return Number(t)
	const last = marks.at(-1)
	if (marks.some(m => m !== last)) { // both: the last one is the decimal mark
		return Number(t.replace(new RegExp("\\" + (last === "." ? "," : "."), "g"), "").replace(last, "."))
	}
	const grouped = marks.length > 1 || last !== mark && (last === group || group.trim() === "") && places < 3 && /[.,]\d{3}$/.test(t)
	return Number(grouped ? t.replace(/[.,]/g, "") : t.replace(last, "."))
}

// markAfter writes typed figures with the mark after so many of them: 172 and 1.72
// are 17.2 where the mark comes after two.
export function markAfter(text, figures) {
	const all = text.replace(/[.,]/g, "")
	return all.length > figures ? all.slice(0, figures) + mark + all.slice(figures) : all
}

const celsius = {unit: "°C", toBook: v => v, fromBook: v => v}
const plain = unit => ({unit, toBook: v => v, fromBook: v => v})
const times = (unit, size) => ({unit, toBook: v => v * size, fromBook: v => v / size})

const metric = {mass: plain("kg"), temperature: celsius, depth: plain("cm"), volume: plain("L")}

// The pound, the inch and the gallon are exact: international yard and pound
// agreement of 1959; the gallon is 231 cubic inches.
const us = {
	mass: times("lb", 0.45359237), depth: times("in", 2.54), volume: times("gal", 3.785411784),
	temperature: {unit: "°F", toBook: v => (v - 32) / 1.8, fromBook: v => v * 1.8 + 32},
}

const same = {kg: plain("kg"), celsius, pct: plain("%"), index: plain(""), brix: plain("°Bx"), count: plain("")}

export const unitsOf = name => ({...same, ...(name === "us" ? us : metric)})

// writer gives the ways of writing figures of the book in an outfit's units.
export function writer(units) {
	const u = unitsOf(units)
	const written = (what, places) => v => show(u[what].fromBook(v), places) + "\u00a0" + u[what].unit
	return {
		u,
		mass: kg => written("mass", Math.abs(kg) >= 100 ? 0 : 1)(kg),
		temperature: written("temperature", 1),
		depth: written("depth", 1),
		volume: written("volume", 0),
		pct: v => show(v, 1),
	}
}
