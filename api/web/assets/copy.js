// A button beside an address copies it. Browsers let a script write to the clipboard over
// HTTPS and on the machine itself; elsewhere the older way marks the address first.

for (const line of document.querySelectorAll(".copied")) {
	const field = line.querySelector("input")
	const button = line.querySelector("button")
	const told = line.querySelector("[role=status]")
	button.hidden = false
	button.addEventListener("click", async () => {
		told.textContent = ""
		told.textContent = await copied(field) ? button.dataset.done : button.dataset.failed
	})
	field.addEventListener("focus", () => field.select())
}

async function copied(field) {
	try {
		await navigator.clipboard.writeText(field.value)
		return true
	} catch {
		field.select()
		return document.execCommand("copy")
	}
}
