// Codes of labels and drums: read by a hand scanner, which types them, or by the camera.

// A scanner types faster than anybody, who needs 100 milliseconds a key at the least: so many
// between keys on the mean, and at the most where the device is busy; and a code has some
// letters (from memory, of hand scanners that are keyboards to the device).
const meanGap = 60, longestGap = 250, fewestLetters = 3

// What comes fast into a field for figures and reads as one is a weight: some scales type too.
const figure = /^[\d.,]{1,7}$/

// onCode calls found with what a scanner types, wherever the focus is. What it typed into a
// field on the way is taken out again; the Enter at its end does nothing else.
// Where no code is wanted nothing is taken for one.
export function onCode(found, wanted = () => true) {
	let typed = [], began
	addEventListener("keydown", event => {
		if (event.key === "Shift") return
		const now = event.timeStamp
		const goesOn = typed.length > 0 && now - typed.at(-1).at <= longestGap
		if (event.key === "Enter") {
			const code = typed.map(k => k.key).join("")
			const fast = goesOn && typed.length >= fewestLetters && (now - typed[0].at) / typed.length <= meanGap
			typed = []
			if (!fast || !wanted() || began?.field.matches(".figure-in") && figure.test(code)) return
			event.preventDefault()
			event.stopImmediatePropagation()
			if (began && began.field.value !== began.value) {
				began.field.value = began.value
				began.field.dispatchEvent(new Event("input", {bubbles: true}))
			}
			return found(code.trim())
		}
		if (event.key.length !== 1 || event.ctrlKey || event.altKey || event.metaKey) return void (typed = [])
		if (!goesOn) {
			typed = []
			const field = document.activeElement
			began = field?.matches?.("input:not([type=radio], [type=checkbox]), textarea") ? {field, value: field.value} : undefined
		}
		else if (event.key === " " && typed.length > 1 && typed.some(k => k.key !== " ") && wanted()) event.preventDefault() // it would press what has the focus
		typed.push({key: event.key, at: now})
	}, {capture: true})
}

// containerOf finds the container that a code names among some with a number and a fill. A
// label's code leads to the container's place on the page of its lot; other codes are the
// container's number.
export function containerOf(code, containers) {
	const number = numberOf(code)
	const same = containers.filter(c => c.container.trim().toLowerCase() === number.toLowerCase())
	if (same.length > 0) return same[0]
	const anchor = /\/lots\/[0-9a-f-]{36}\S*#c([0-9a-f]{8})$/.exec(code)
	const begun = anchor ? containers.filter(c => c.fill_id.startsWith(anchor[1])) : []
	return begun.length === 1 ? begun[0] : undefined // of several that were filled in one minute none is meant
}

// numberOf is the container's number in a code.
export function numberOf(code) {
	if (!/^https?:\/\//.test(code) || !URL.canParse(code)) return code
	return new URL(code).searchParams.get("c") ?? ""
}

export const hasCamera = Boolean(navigator.mediaDevices?.getUserMedia)

const lookEvery = 200 // milliseconds
const longestSide = 1000 // pixels of a picture that the kept library looks at
const patience = 80 // milliseconds that it may take beyond its first look at a picture

// readByCamera shows what the camera sees in a dialog until it reads a code, which it gives;
// nothing where somebody closes it.
export async function readByCamera(dialog) {
	const video = dialog.querySelector("video")
	const look = await reader()
	const stream = await navigator.mediaDevices.getUserMedia({video: {facingMode: "environment"}})
	try {
		video.srcObject = stream
		dialog.querySelector("button").onclick = () => dialog.close()
		dialog.showModal()
		await video.play()
		while (dialog.open) {
			const code = await look(video).catch(() => undefined)
			if (code) return code.trim()
			await new Promise(resolve => setTimeout(resolve, lookEvery))
		}
	} finally {
		for (const track of stream.getTracks()) track.stop()
		video.srcObject = null
		dialog.close()
	}
}

// reader is what reads the code in a video's picture: the browser itself where it can, else a
// library, which is loaded then only. Either may fail where there is no code.
async function reader() {
	const formats = "BarcodeDetector" in self ? await BarcodeDetector.getSupportedFormats().catch(() => []) : []
	if (formats.includes("qr_code")) {
		const detector = new BarcodeDetector()
		return async video => (await detector.detect(video))[0]?.rawValue
	}
	const { decodeQR } = await import("./qr/decode.js")
	const canvas = document.createElement("canvas")
	const picture = canvas.getContext("2d", {willReadFrequently: true})
	return async video => {
		const scale = Math.min(1, longestSide / Math.max(video.videoWidth, video.videoHeight))
		const width = canvas.width = Math.round(video.videoWidth * scale), height = canvas.height = Math.round(video.videoHeight * scale)
		picture.drawImage(video, 0, 0, width, height)
		return decodeQR(picture.getImageData(0, 0, width, height), {timeLimit: patience})
	}
}
