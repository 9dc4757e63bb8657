// What refractometers show. The mark stands after so many figures (auto), so that
// nobody has to type it.

import { markAfter, read } from "./numbers.js"

export const scales = {
	moisture: {what: "pct", places: 1, auto: 2, api: "moisture_pct"},
	brix: {what: "brix", places: 1, auto: 2, api: "brix_deg"},
	refractive_index: {what: "index", places: 4, auto: 1, api: "refractive_index"},
}

// onScale returns typed figures as an instrument would show them, and nothing where
// it shows no such figure.
export function onScale(instrument, typed) {
	const {auto, places} = scales[instrument.scale]
	const text = markAfter(typed, auto)
	const v = read(text, places)
	return instrument.shown[0].shown <= v && v <= instrument.shown.at(-1).shown ? text : undefined
}
