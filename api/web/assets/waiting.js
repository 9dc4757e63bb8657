// On every page: keeps the recording page on the device, says how many entries
// wait, and sends them.

import { entries, kept } from "./store.js"
import { forget, onChange, send } from "./queue.js"

const badge = document.getElementById("waiting")

async function count() {
	const all = await entries.all()
	const waiting = all.filter(e => e.state === "waiting").length
	const refused = all.filter(e => e.state === "refused").length
	const number = n => n.toLocaleString(document.documentElement.lang)
	const said = []
	if (waiting > 0) said.push(waiting === 1 ? badge.dataset.single : badge.dataset.many.replace("%s", number(waiting)))
	if (refused > 0) said.push(badge.dataset.refused.replace("%s", number(refused)))
	const text = said.join(", ")
	badge.hidden = text === ""
	if (badge.textContent !== text) badge.textContent = text
}

async function start() {
	onChange(count)
	await count()
	addEventListener("online", send)
	document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send())
	setInterval(send, 5 * 60_000)
	// Where nothing waits, only the recording page has something to ask.
	if (!badge.hidden || document.getElementById("record")) await send()
}

if (badge && "indexedDB" in self) start()

// keepPage has the recording page kept on the device. On a weak signal that may fail, and is
// tried again after so many milliseconds, then less and less often: without it the page does
// not open where there is no network.
async function keepPage(wait = 10_000) {
	const later = () => setTimeout(keepPage, wait, Math.min(2 * wait, 5 * 60_000))
	try {
		const registration = await navigator.serviceWorker.register("/worker.js", {updateViaCache: "none"})
		registration.installing?.addEventListener("statechange", event => {
			if (event.target.state === "redundant" && !registration.active) later()
		})
	} catch {
		later()
	}
}

// A worker that became active while this page was on its way has not seen the page.
async function takenOver() {
	const {active} = await navigator.serviceWorker.ready
	if (!navigator.serviceWorker.controller) active.postMessage("take over")
}

if ("serviceWorker" in navigator) {
	keepPage()
	takenOver()
}
const needsHTTPS = document.getElementById("needs-https")
if (needsHTTPS) needsHTTPS.hidden = self.isSecureContext

// Who signs out leaves nothing of the book on the device; who locks a tablet, only
// nobody's name.
for (const [action, first] of [["/sign-out", forget], ["/lock", () => kept.remove("me")]]) {
	for (const form of document.querySelectorAll(`form[action="${action}"]`)) {
		form.addEventListener("submit", event => {
			event.preventDefault()
			first().finally(() => form.submit())
		})
	}
}

// A shed's tablet that nobody touches locks by itself, as the book does it (TabletIdle):
// whoever comes next chooses the own name. What was typed stays, and stays who typed it's.
const idle = 15 * 60_000
const touchedAt = "pullbook-touched"
const stamp = () => localStorage.setItem(touchedAt, String(Date.now()))
const isIdle = () => Date.now() - Number(localStorage.getItem(touchedAt)) > idle

async function lockIfIdle() {
	if (!isIdle() || !await kept.get("tablet") || !await kept.get("me")) return
	await kept.remove("me")
	const form = document.querySelector('form[action="/lock"]')
	if (form && navigator.onLine) return form.submit()
	await fetch("/lock", {method: "POST", redirect: "manual"}).catch(() => {})
	await send()
}

if (badge && "indexedDB" in self) {
	if (document.querySelector('form[action="/lock"]')) await kept.put("tablet", true)
	for (const kind of ["pointerdown", "keydown"]) {
		addEventListener(kind, () => isIdle() ? lockIfIdle().finally(stamp) : stamp(), {capture: true, passive: true})
	}
	stamp()
	document.addEventListener("visibilitychange", lockIfIdle)
	setInterval(lockIfIdle, 30_000)
}
