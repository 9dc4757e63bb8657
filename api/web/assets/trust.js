// On the page that tells a device how to trust the machine: asks the machine over HTTPS. The
// browser refuses the answer where the device does not trust who gives it.

const button = document.getElementById("try")
const result = document.getElementById("result")

// answers resolves to the address if it answers within ten seconds.
async function answers(address) {
	await fetch(address, { mode: "no-cors", cache: "no-store", credentials: "omit", signal: AbortSignal.timeout(10_000) })
	return address
}

async function ask() {
	result.textContent = result.dataset.asking
	// The first is the best to keep, and is taken where it answers at all.
	const tried = await Promise.allSettled([...document.querySelectorAll("#checks a")].map(a => answers(a.href)))
	const good = tried.find(t => t.status === "fulfilled")?.value
	result.dataset.trusted = good === undefined ? "no" : "yes"
	if (good === undefined) {
		result.textContent = result.dataset.no
		return
	}
	const base = new URL(good).origin
	result.textContent = result.dataset.yes.replace("%s", base)
	for (const id of ["on", "pair"]) {
		const link = document.getElementById(id)
		const to = new URL(link.href)
		link.href = base + to.pathname + to.hash
	}
}

button.hidden = false
button.addEventListener("click", ask)
ask()
