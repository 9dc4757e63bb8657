// Sends the form of an import without leaving the page, so that the chosen file
// stays chosen while its columns are put right, and shows how far it has been read.
const form = document.getElementById("import")
const waiting = document.getElementById("on-its-way")
const bar = document.getElementById("progress")
let sending = false

form.addEventListener("submit", async event => {
	event.preventDefault()
	// A button that was switched off meanwhile would let go of the focus.
	if (sending) return
	sending = true
	const data = new FormData(form, event.submitter)
	const file = data.get("file")
	data.delete("file")
	// The file is the last part, because what it is has to be known before it is read.
	data.append("file", file)
	const label = waiting.querySelector("label")
	waiting.hidden = false
	bar.removeAttribute("value")
	const watch = setInterval(() => progress(data.get("id"), Number(data.get("rows") ?? 0), label), 400)
	try {
		const response = await fetch(form.action, {method: "POST", body: data, headers: {Accept: "text/html"}})
		const page = new DOMParser().parseFromString(await response.text(), "text/html")
		const answer = page.getElementById("answer")
		if (answer) {
			document.getElementById("answer").replaceChildren(...answer.childNodes)
			form.elements.id.value = page.forms.import.elements.id.value
		} else {
			document.getElementById("answer").replaceChildren(...page.querySelectorAll("main > *"))
		}
		waiting.hidden = true
		begin(document.querySelector("#answer h1, #answer h2"))
	} catch {
		label.textContent = label.dataset.lost
		bar.value = 0
	} finally {
		clearInterval(watch)
		sending = false
	}
})

// begin has whoever goes by keys, or listens, go on where the answer begins.
function begin(heading) {
	if (!heading) return
	heading.tabIndex = -1
	heading.focus({preventScroll: true})
	heading.scrollIntoView({block: "start"})
}

async function progress(id, rows, label) {
	const response = await fetch(`/import/progress/${id}`).catch(() => null)
	if (!response?.ok) return
	const at = await response.json()
	if (at.state === "waiting") {
		label.textContent = `${label.dataset.waiting} ${at.waits_for}`
	}
	if (at.state !== "reading") return
	label.textContent = label.dataset.reading
	document.getElementById("rows").textContent = at.rows
	if (rows > 0) {
		bar.max = rows
		bar.value = at.rows
	}
}
