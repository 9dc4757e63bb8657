// The way of entries from the device into the book: kept first, sent in order,
// as often as it takes, all that wait in one request. The book knows an entry by
// its own id, so that sending one twice books it once.
//
// A state of an entry is waiting, sent, refused or dropped.

import { entries, kept } from "./store.js"

const channel = "BroadcastChannel" in self ? new BroadcastChannel("pullbook") : undefined
const listeners = new Set()

// onChange calls f when the queue has changed, here or in another tab.
export function onChange(f) {
	listeners.add(f)
}

let told
function tell() {
	told ??= setTimeout(() => {
		told = undefined
		for (const f of listeners) f()
		channel?.postMessage("changed")
	}, 50)
}

if (channel) channel.onmessage = () => {
	for (const f of listeners) f()
}

// newID is a UUID of version 7 (RFC 9562): they sort by time.
export function newID() {
	const bytes = crypto.getRandomValues(new Uint8Array(16))
	let ms = Date.now()
	for (let i = 5; i >= 0; i--) {
		bytes[i] = ms % 256
		ms = Math.floor(ms / 256)
	}
	bytes[6] = bytes[6] & 0x0f | 0x70
	bytes[8] = bytes[8] & 0x3f | 0x80
	const hex = [...bytes].map(b => b.toString(16).padStart(2, "0")).join("")
	return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5")
}

// add keeps an entry on the device and resolves once it is there.
export async function add(entry) {
	await entries.add({...entry, state: "waiting", savedAt: Date.now()})
	tell()
	send()
}

// mend puts a refused entry right; it keeps its place and its id, by which others
// may know it.
export async function mend(seq, entry) {
	await entries.put({...entry, seq, state: "waiting", savedAt: Date.now(), problem: undefined})
	tell()
	send()
}

// drop gives up a refused entry, and what was to put it right.
export async function drop(seq) {
	const all = await entries.all()
	const one = all.find(e => e.seq === seq)
	if (one?.state !== "refused") return
	for (let e = one; e; e = all.find(o => open(o) && o.body.replaces === e.id)) {
		await entries.put({...e, state: "dropped", endedAt: Date.now(), photos: undefined})
		await forgetPhotos(e)
	}
	tell()
	send()
}

// takeOver has a manager send, in the own name, what somebody else entered here.
export async function takeOver(person) {
	const me = await kept.get("me")
	if (me?.role !== "manager") return
	for (const e of await entries.all()) {
		if (!open(e) || e.person !== person || e.outfit && e.outfit !== me.outfit) continue
		const body = {...e.body, as_entered: {...e.body.as_entered, entered_by: (person ?? "").slice(0, 80)}}
		await entries.put({...e, body, person: me.person, outfit: me.outfit, enteredBy: person})
	}
	tell()
	send()
}

export const open = e => e.state === "waiting" || e.state === "refused"

// isMine reports whether an entry is sent while me is signed in. One that nobody
// is named for is whose who signs in.
export const isMine = (e, me) => Boolean(me) && (!e.person || e.person === me.person) && (!e.outfit || e.outfit === me.outfit)

// restsOn is the entry before e that has not come into the book and that e names.
export function restsOn(e, all) {
	const text = JSON.stringify(e.body)
	return all.find(o => o.seq < e.seq && open(o) && text.includes(o.id))
}

// status says how it stands with the network: net is "unknown", "online",
// "offline", "busy" or "sign-in".
export const status = {net: "unknown", sending: false}

let timer
let wait = 0
let again = false

const firstWait = 2_000
const longestWait = 60_000

// send sends what waits. Tabs take turns.
export async function send() {
	if (status.sending) {
		again = true
		return
	}
	clearTimeout(timer)
	status.sending = true
	try {
		await inTurn(sendAll)
	} catch (error) {
		status.net = "offline"
		console.warn("pullbook: sending stopped", error)
	} finally {
		status.sending = false
		tell()
	}
	if (again) {
		again = false
		return send()
	}
	const waits = (await entries.all()).some(e => e.state === "waiting" || photosWait(e))
	if (status.net === "online" || status.net === "sign-in") wait = 0
	else if (waits || status.net !== "unknown") {
		wait = Math.min(longestWait, Math.max(firstWait, status.after ?? wait * 2))
		timer = setTimeout(send, wait * (0.8 + 0.4 * Math.random()))
	}
}

// inTurn has one tab send at a time, so that none sends what another has put right
// meanwhile. A browser has locks for that only over HTTPS and on its own machine;
// elsewhere the device's store says whose turn it is, and for how long.
async function inTurn(work) {
	if (navigator.locks) return navigator.locks.request("pullbook-send", work)
	while (!(await isOurTurn())) await new Promise(resolve => setTimeout(resolve, 300))
	try {
		await work()
	} finally {
		await kept.take("turn", tab(), 0)
	}
}

// isOurTurn takes the turn, or keeps it for as long as one entry can take.
const isOurTurn = async () => Boolean(navigator.locks) || kept.take("turn", tab(), Date.now() + 1.5 * patience)

// tab is the same for the pages that one tab shows one after another.
const tab = () => sessionStorage.pullbookTab ??= newID()

async function sendAll() {
	const me = await whoAmI()
	tell()
	if (!me) return
	for (;;) {
		const all = await entries.all()
		const next = goingNow(all, me)
		if (next.length === 0) break
		if (!(await isOurTurn())) return
		const went = await sendTogether(next, me)
		if (went === undefined) return
		// What rests on one that was refused waits; what was typed while these went goes too.
		if (went === 0) break
	}
	await lookAgain(me)
	await sendPhotos(me)
	await tidy()
}

// photosWait reports whether an entry that is in the book has pictures that are not.
export const photosWait = e => e.state === "sent" && Boolean(e.photos?.some(p => p.state === "waiting"))

// sendPhotos sends the pictures of entries that the book has, one by one: none of them ever
// holds back an entry. What the book does not take is said, and the entry stands without it.
async function sendPhotos(me) {
	for (let e of await entries.all()) {
		if (!photosWait(e) || !isMine(e, me)) continue
		for (const photo of e.photos.filter(p => p.state === "waiting")) {
			if (!(await isOurTurn())) return
			const settled = await sendPhoto(e.id, photo.id)
			if (!settled) return
			e = {...e, photos: e.photos.map(p => p.id === photo.id ? {...p, ...settled} : p)}
			await entries.put(e)
			await kept.remove("photo:" + photo.id)
			tell()
		}
	}
}

async function sendPhoto(entry, id) {
	const bytes = await kept.get("photo:" + id)
	if (!bytes) return {state: "refused", why: ""} // the browser threw it away
	const form = new FormData()
	form.set("id", id)
	form.set("entry_id", entry)
	form.set("file", new Blob([bytes], {type: "image/jpeg"}), "picture.jpg")
	const answer = await ask("/v1/photos", {method: "POST", body: form})
	if (!answer) return
	if (answer.ok) return {state: "sent"}
	const problem = await answer.json().catch(() => ({title: answer.statusText}))
	return {state: "refused", why: problem.errors?.map(x => x.detail).join(" ") || problem.detail || problem.title}
}

async function forgetPhotos(e) {
	for (const p of e.photos ?? []) await kept.remove("photo:" + p.id)
}

// goingNow are the entries that go together, in their order. One that rests on another goes
// with it or after it.
function goingNow(all, me) {
	const going = []
	for (const e of all) {
		if (going.length === together) break
		if (e.state !== "waiting" || !isMine(e, me)) continue
		const text = JSON.stringify(e.body)
		if (all.every(o => o.seq >= e.seq || !open(o) || going.includes(o) || !text.includes(o.id))) going.push(e)
	}
	return going
}

// mostTogether is how many entries the book takes in one request. Where no answer came in
// time, fewer go together next time: a poor network brings those through.
const mostTogether = 500
let together = mostTogether

// sendTogether sends entries in one request, and gives how many of them the book has
// answered; nothing where it did not answer.
async function sendTogether(some, me) {
	const answer = await ask("/v1/entries", {
		method: "POST", headers: {"Content-Type": "application/json"},
		body: JSON.stringify({entries: some.map(e => ({kind: kinds[e.path], entry: e.body}))}),
	})
	together = answer ? mostTogether : Math.ceil(together / 4)
	if (!answer) return
	const reply = await answer.json().catch(() => ({title: answer.statusText, status: answer.status}))
	const answers = answer.ok ? reply.answers : some.map(() => ({status: answer.status, problem: reply}))
	const settled = []
	for (const [i, a] of answers.entries()) {
		if (a.status === 424) continue // what it rests on was refused
		if (a.status === 408 || a.status === 429 || a.status >= 500) {
			status.net = "busy"
			break
		}
		if (a.recorded && a.recorded.recorded_by !== me.person) again = true // somebody else signed in meanwhile
		const outcome = a.recorded ? {state: "sent", reply: a.recorded} : {state: "refused", problem: a.problem}
		settled.push({...some[i], ...outcome, endedAt: Date.now(), person: me.person, outfit: me.outfit})
	}
	await entries.settle(settled)
	tell()
	return status.net === "busy" ? undefined : settled.length
}

// kinds says what sort of entry is recorded at an address.
const kinds = {
	"calibrations": "calibration", "dispatches": "dispatch", "fills": "fill", "hive-counts": "hive_count", "loads": "load", "lots": "lot", "movements": "movement", "pulls": "pull", "readings": "reading",
	"run-ends": "run_end", "run-supers": "run_supers", "runs": "run", "stocktakes": "stocktake", "temperature-logs": "temperature_log", "washes": "wash", "withdrawals": "withdrawal",
}

// whoAmI is who the book takes this device for now; nothing where it cannot say.
async function whoAmI() {
	const answer = await ask("/v1/outfit", {})
	if (!answer?.ok) return
	const o = await answer.json()
	const me = {outfit: o.id, outfitName: o.name, person: o.your_name, role: o.your_role, units: o.units}
	await kept.put("me", me)
	return me
}

// lookAgain fetches what one must know to record, where it has changed.
async function lookAgain(me) {
	const had = await kept.get("shed")
	const headers = had && had.of === me.outfit ? {"If-None-Match": had.tag} : {}
	const answer = await ask("/v1/reports/shed", {headers})
	if (!answer?.ok) return
	await kept.put("shed", {of: me.outfit, tag: answer.headers.get("ETag"), shed: await answer.json(), at: Date.now()})
	tell()
}

const patience = 20_000

// ask gives an answer that settles something, and nothing where one has to try
// again later: no network, a busy or failing service, or nobody signed in.
async function ask(address, options) {
	const stop = new AbortController()
	const late = setTimeout(() => stop.abort(), patience)
	let answer
	try {
		answer = await fetch(address, {...options, cache: "no-store", credentials: "same-origin", redirect: "error", signal: stop.signal})
	} catch {
		status.net = "offline"
		status.after = undefined
		return
	} finally {
		clearTimeout(late)
	}
	await tabletIs(answer.headers.get("Pullbook-Tablet"))
	switch (true) {
	case answer.status === 401:
		status.net = "sign-in"
		return
	case answer.status === 408 || answer.status === 429 || answer.status >= 500:
		status.net = "busy"
		status.after = 1000 * Number(answer.headers.get("Retry-After")) || undefined
		return
	}
	status.net = "online"
	return answer
}

// tabletIs keeps whether the device is a shed's tablet. Of one that the book has
// locked nobody's name stays, so that nobody records in the name of who was there
// before.
async function tabletIs(state) {
	if (state) await kept.put("tablet", true)
	else await kept.remove("tablet")
	if (state === "locked") await kept.remove("me")
}

const keepFor = 36 * 3600 * 1000

// tidy forgets what went into the book the day before.
async function tidy() {
	for (const e of await entries.all()) {
		if (!open(e) && !photosWait(e) && Date.now() - (e.endedAt ?? 0) > keepFor) await entries.remove(e.seq)
	}
}

// forget removes what the device knows of a book, when somebody signs out. What
// waits to be sent stays, and what is typed and not saved.
export async function forget() {
	for (const key of ["me", "shed", "tablet"]) await kept.remove(key)
	for (const e of await entries.all()) if (!open(e) && !photosWait(e)) await entries.remove(e.seq)
	tell()
}
