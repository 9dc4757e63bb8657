// Ticks containers that leave by their codes.

import { containerOf, hasCamera, numberOf, onCode, readByCamera } from "./scan.js"

const said = document.getElementById("scanned")
const boxes = [...document.querySelectorAll("input[name=container]")]
const containers = boxes.map(box => ({box, container: box.dataset.number, fill_id: box.value}))

function tick(code) {
	const found = containerOf(code, containers)
	if (found) {
		found.box.checked = true
		found.box.closest("details").open = true
		found.box.scrollIntoView({block: "center"})
	}
	const text = found ? said.dataset.ticked : said.dataset.unknown
	said.textContent = text.replace("%s", found?.container ?? (numberOf(code) || code))
}

if (said) {
	onCode(tick)
	const camera = document.getElementById("camera-button"), dialog = document.getElementById("camera")
	camera.hidden = !hasCamera
	camera.addEventListener("click", async () => {
		const code = await readByCamera(dialog).catch(() => undefined)
		if (code) tick(code)
	})
}
