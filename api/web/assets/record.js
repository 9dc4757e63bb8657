// The recording page: the first screen with what stands, and a screen for each
// kind of entry, by the part of the address after #.

import { isDue, kinds, stepsLeft } from "./kinds.js"
import { mark, markAfter, read, show, writer } from "./numbers.js"
import { project } from "./project.js"
import { add, drop, isMine, mend, newID, onChange, open, restsOn, status, takeOver } from "./queue.js"
import { mostOfEntry, mostWaiting, seen, small } from "./photos.js"
import { hasCamera, onCode, readByCamera } from "./scan.js"
import { mayPutRight, rightedBy, takingBack, withoutIt } from "./slips.js"
import { entries, kept } from "./store.js"
import { say } from "./words.js"

const $ = id => document.getElementById(id)

let form // what is typed: {kind, key, mending, righting, v, own, touched, stays, unsaved}

// el makes an element: el("p", {class: "note"}, "text", child).
function el(tag, attributes, ...children) {
	const e = document.createElement(tag)
	for (const [name, value] of Object.entries(attributes ?? {})) {
		if (name.startsWith("on")) e.addEventListener(name.slice(2), value)
		else if (value === true) e.setAttribute(name, "")
		else if (value !== undefined && value !== false) e.setAttribute(name, value)
	}
	e.append(...children.filter(c => c !== undefined && c !== false))
	return e
}

// swap puts things in a place, and leaves alone what stands there already. The focus
// stays on what had it, or goes to what is the same there now, else to otherwise: who
// goes by keys is never sent back to the top. Who is typing goes on where the caret was: a
// field that gets the focus selects all it holds, and the next figure would replace that.
function swap(where, wanted, otherwise) {
	const likeOf = e => e.dataset.like ?? e.outerHTML
	const old = new Map([...where.children].map(e => [likeOf(e), e]))
	const next = wanted.map(e => old.get(likeOf(e)) ?? e)
	if (next.length === where.children.length && next.every((e, i) => e === where.children[i])) return
	const held = where.contains(document.activeElement) ? document.activeElement : undefined
	const caret = held?.type === "text" ? [held.selectionStart, held.selectionEnd] : undefined
	for (const e of [...where.childNodes]) if (!next.includes(e)) e.remove()
	for (const [i, e] of next.entries()) if (where.childNodes[i] !== e) where.insertBefore(e, where.childNodes[i] ?? null)
	if (!held || held === document.activeElement) return
	const same = held.name ? [...where.querySelectorAll(`[name="${CSS.escape(held.name)}"]`)] : [...where.querySelectorAll("a, button")].filter(e => e.textContent === held.textContent && e.checkVisibility())
	const again = held.isConnected ? held : same.find(e => e.value === held.value) ?? same[0] ?? otherwise?.()
	again?.focus({preventScroll: true})
	if (caret && again?.name === held.name) again.setSelectionRange(...caret)
}

// firstShown is the first of some headings that is shown.
const firstShown = (...ids) => () => ids.map($).find(e => e.checkVisibility())

// known is what the device knows: who is signed in, the book when it was last
// asked, the same with what waits (now), the queue, and what was chosen last.
const known = {
	me: undefined, shed: undefined, at: undefined, all: [], drafts: [], recent: {},
	get now() {
		const {shed, all} = this, righting = form?.righting
		if (made.shed !== shed || made.all !== all || made.righting !== righting) made = {shed, all, righting, now: shed && project(shed, righting ? withoutIt(righting, all) : all)}
		return made.now
	},
}
let made = {}

async function look() {
	const [me, shed, all, drafts, recent] = await Promise.all([kept.get("me"), kept.get("shed"), entries.all(), typedDrafts(), kept.get("recent")])
	Object.assign(known, {me, all, drafts, recent: recent ?? {}, shed: shed?.shed, at: shed?.at})
	known.w = writer(known.shed?.units)
}

const stateIcon = {waiting: "…", sent: "✓", refused: "✕", dropped: "–"}

// ---- the first screen

function standText() {
	const waiting = known.all.filter(e => e.state === "waiting")
	const held = waiting.filter(e => known.me && !isMine(e, known.me))
	const count = waiting.length === 0 ? say("nothing waits") : waiting.length === 1 ? say("one waits") : say("so many wait", show(waiting.length))
	const net = {
		"sign-in": say("sign in to send"), offline: say("no network"), busy: say("book busy"), online: say("network is there"), unknown: say("looking"),
	}[status.net]
	return {count, net, held}
}

// showStand says what stands in the lines kept for it above the tiles. All that may
// come and go has its place under them: a tile never moves from under a finger.
function showStand() {
	const {count, net, held} = standText()
	const refused = known.all.filter(e => e.state === "refused").length
	const people = [...new Set(held.map(e => e.person))].filter(Boolean)
	const asks = [
		(status.net === "sign-in" || !known.me && status.net !== "unknown") && el("a", {class: "go", href: "/record/sign-in"}, say("sign in")),
		refused > 0 && el("button", {type: "button", onclick: () => bring("refused-title")}, el("span", {class: "sign", "aria-hidden": "true"}, stateIcon.refused), " ", refused === 1 ? say("one refused") : say("so many refused", show(refused))),
		known.drafts.length > 0 && el("button", {type: "button", onclick: () => bring("drafts-title")}, known.drafts.length === 1 ? say("one draft") : say("so many drafts", show(known.drafts.length))),
	].filter(Boolean)
	swap($("stand"), [
		el("p", {class: "net " + status.net}, el("span", {class: "sign", "aria-hidden": "true"}, {"sign-in": "!", offline: "○", busy: "○", online: "✓", unknown: "…"}[status.net]), " ", net, " · ", el("b", {id: "count"}, count)),
		el("p", {class: "note"}, known.me ? say("signed in as", known.me.person, known.me.outfitName) : say("nobody signed in")),
		...(asks.length > 0 ? [el("p", {class: "asks-for"}, ...asks)] : []),
	], () => $("content"))
	swap($("notices"), [
		...people.map(person => el("p", {class: "held"}, say("waiting for to sign in", person), " ",
			known.me?.role === "manager" && el("button", {type: "button", onclick: () => takeOver(person)}, say("send in my name")))),
		...(known.me?.role === "reader" ? [el("p", {class: "odd"}, say("only reads"))] : []),
		...(known.shed && !inSeason() ? [el("p", {class: "odd"}, say("outside seasons"))] : []),
	], () => $("content"))
}

function bring(heading) {
	$(heading).scrollIntoView()
	$(heading).focus({preventScroll: true})
}

function inSeason() {
	const today = new Date().toLocaleDateString("sv", {timeZone: known.shed.time_zone})
	return known.shed.seasons.some(s => s.first <= today && today <= s.last)
}

const timeOf = at => new Date(at).toLocaleTimeString(document.documentElement.lang, {hour: "numeric", minute: "2-digit"})
// Who works past midnight goes on seeing the evening's entries.
const dayBegan = () => Math.min(new Date().setHours(0, 0, 0, 0), Date.now() - 6 * 3600e3)

function showEntries() {
	const refused = known.all.filter(e => e.state === "refused")
	$("refused").hidden = refused.length === 0
	swap($("refused-list"), refused.map(refusedItem), firstShown("refused-title", "content"))
	const today = known.all.filter(e => e.state !== "refused" && (open(e) || (e.savedAt ?? 0) >= dayBegan())).reverse()
	$("today-none").hidden = today.length > 0
	swap($("today-list"), today.slice(0, 40).map(todayItem), () => $("today-title"))
}

let askedAbout // the entry of today that somebody wants to put right

function todayItem(e) {
	const by = rightedBy(e, known.all)
	const told = by ? [{text: say(by.path === "withdrawals" ? "taken back since" : "put right since")}] : consequences(e)
	const pictures = picturesOf(e)
	const offered = mayPutRight(e, known.all, known.me)
	const asked = offered && askedAbout === e.seq
	return el("li", {class: e.state, "data-seq": e.seq, "data-like": JSON.stringify([e.seq, stateWord(e), e.says, told, pictures, offered, asked])},
		el("p", {}, el("span", {class: "sign", "aria-hidden": "true"}, stateIcon[e.state]), " ", el("b", {}, stateWord(e)), ` · ${timeOf(e.at)} · `, e.says),
		...[...told, ...pictures].map(c => el("p", {class: c.odd ? "odd" : "note"}, c.text)),
		offered && (asked ? waysToPutRight(e) : el("p", {class: "choices"}, el("button", {type: "button", onclick: () => askAbout(e.seq)}, say("put right")))))
}

// picturesOf says what became of the pictures of an entry.
function picturesOf(e) {
	const of = state => e.photos?.filter(p => p.state === state) ?? []
	return [
		of("waiting").length > 0 && {text: say("pictures kept", show(of("waiting").length))},
		of("sent").length > 0 && {text: say("pictures sent", show(of("sent").length))},
		...of("refused").map(p => ({odd: true, text: say("picture refused", p.why)})),
	].filter(Boolean)
}

function waysToPutRight(e) {
	const back = reason => el("button", {type: "button", class: "danger", onclick: () => takeBack(e, reason)}, say("take back", reason))
	return el("p", {class: "choices"},
		kinds[e.kind] && el("a", {class: "go", href: `#${e.kind}/${e.seq}`}, say("mend")),
		back(say("typed wrong")), back(say("recorded twice")),
		el("button", {type: "button", onclick: () => askAbout(undefined)}, say("leave it")))
}

// askAbout shows the ways to put an entry of today right, and goes to the first of them.
function askAbout(seq) {
	const item = seq ?? askedAbout
	askedAbout = seq
	showEntries()
	$("today-list").querySelector(`[data-seq="${item}"] .choices`)?.querySelector("a, button").focus({preventScroll: true})
}

async function takeBack(e, reason) {
	askedAbout = undefined
	await add(takingBack(e, newID(), reason, say("takes back", e.says), known.me))
	await changed()
}

function stateWord(e) {
	if (e.state === "waiting" && restsOn(e, known.all)?.state === "refused") return say("rests on refused")
	return say(e.state === "waiting" ? "kept here" : e.state)
}

function refusedItem(e) {
	const resting = known.all.filter(o => o.state === "waiting" && restsOn(o, known.all)?.seq === e.seq).length
	const ask = el("p", {class: "ask-drop", hidden: true},
		el("span", {}, say("drop for good") + (resting > 0 ? " " + say("so many rest on it", show(resting)) : ""), " "),
		el("button", {type: "button", class: "danger", onclick: () => drop(e.seq)}, say("drop it")), " ",
		el("button", {type: "button", onclick: () => { ask.hidden = true; first.hidden = false; first.querySelector("button").focus() }}, say("keep it")))
	const first = el("p", {class: "choices"},
		kinds[e.kind] && el("a", {class: "go", href: `#${e.kind}/${e.seq}`}, say("mend")), " ",
		el("button", {type: "button", onclick: () => { ask.hidden = false; first.hidden = true; ask.querySelector("button").focus() }}, say("drop")))
	const why = (e.problem?.errors ?? []).map(x => x.detail)
	// Like by what it says: whoever is being asked stays asked.
	return el("li", {class: "refused", "data-seq": e.seq, "data-like": JSON.stringify([e.seq, e.says, why, resting])},
		el("p", {}, el("span", {class: "sign", "aria-hidden": "true"}, stateIcon.refused), " ", el("b", {}, say("refused")), ` · ${timeOf(e.at)} · `, e.says),
		el("p", {class: "odd"}, (why.length > 0 ? why : [e.problem?.detail ?? e.problem?.title ?? ""]).join(" ")),
		first, ask)
}

// consequences says what the book answered: what changed, and what looks odd.
function consequences(e) {
	if (e.state !== "sent" || !e.reply) return []
	const levels = e.reply.levels.filter(l => l.place.kind === "tank").map(l => {
		const parts = [l.place.name + " " + (l.before_kg === l.after_kg ? "" : known.w.mass(l.before_kg) + " → ") + known.w.mass(l.after_kg)]
		if (l.full_pct !== undefined) parts.push(say("level full", show(l.full_pct)))
		if (l.expected) parts.push(say("level moisture", show(l.expected.moisture_pct, 1)))
		return parts.join("")
	})
	const elsewhere = changedElsewhere(e.reply)
	return [...(levels.length > 0 ? [{text: levels.join("; ")}] : []), ...e.reply.flags.map(f => ({odd: true, text: say("flag " + f.code)})),
		...(elsewhere ? [{odd: true, text: elsewhere}] : [])]
}

// changedElsewhere says in one sentence what an entry changed beside what it is about;
// nothing where it changed nothing.
function changedElsewhere(reply) {
	const n = what => (reply[what]?.length ?? 0) + (reply["more_" + what] ?? 0)
	const parts = [
		n("opened") && say("elsewhere opened", show(n("opened"))),
		n("closed") && say("elsewhere closed", show(n("closed"))),
		n("outdated_checks") && say("elsewhere outdated_checks", show(n("outdated_checks"))),
		n("superseded") && say("elsewhere superseded", show(n("superseded"))),
		reply.superseded_unfinished && say("elsewhere unfinished"),
	].filter(Boolean)
	return parts.length > 0 ? say("elsewhere", parts.join("; ")) : ""
}

async function typedDrafts() {
	const keys = (await kept.keys()).filter(k => k.startsWith("draft:"))
	const drafts = await Promise.all(keys.map(async key => [key, await kept.get(key)]))
	return drafts.filter(([, d]) => d?.touched)
}

function showDrafts() {
	$("drafts").hidden = known.drafts.length === 0
	swap($("draft-list"), known.drafts.map(([key, d]) => el("li", {"data-like": JSON.stringify([key, d.says])},
		el("p", {}, d.says || d.title), el("p", {class: "choices"},
			el("a", {class: "go", href: "#" + key.slice("draft:".length)}, say("go on")), " ",
			el("button", {type: "button", onclick: async () => { await kept.remove(key); changed() }}, say("discard"))))), firstShown("drafts-title", "content"))
}

// ---- a screen for a kind of entry


// own holds the fields that somebody touched; the others follow what was chosen last.
async function openForm(kind, seq) {
	const key = "draft:" + kind + (seq ? "/" + seq : "")
	const draft = await kept.get(key)
	const saved = seq ? known.all.find(e => e.seq === seq) : undefined
	const mending = saved?.state === "refused" ? saved : undefined
	const righting = saved && !mending && mayPutRight(saved, known.all, known.me) ? saved : undefined
	if (seq && !mending && !righting) {
		location.hash = ""
		return false
	}
	const values = draft?.v ?? saved?.values ?? {}
	form = {kind, key, mending, righting, v: {...values}, own: new Set(Object.keys(values)), touched: Boolean(draft?.touched), all: new Set(), photos: draft?.photos ?? []}
	$("more").open = Object.keys(values).includes("when")
	$("result").replaceChildren()
	$("taken-says").textContent = ""
	$("scanned").textContent = ""
	$("scanned").classList.remove("odd")
	drawForm()
	return true
}

function context() {
	const now = {
		shed: known.now, w: known.w, v: form.v, newID, at: saidBefore()?.at ?? new Date().toISOString(),
		queued: known.all.filter(e => open(e) && e.path === "fills" && e.seq !== saidBefore()?.seq).map(e => e.body.container.toLowerCase()),
	}
	if (form.v.when) {
		const at = new Date(form.v.when)
		if (!Number.isNaN(at.getTime())) now.at = at.toISOString()
	}
	now.n = name => {
		const field = form.fields?.find(f => f.name === name)
		const typed = form.v[name]
		if (!field || typed === undefined || typed.trim() === "") return NaN
		if (field.auto > typed.length) return NaN // 1 of 17.4 says nothing yet
		return known.w.u[field.what].toBook(read(typed, field.places))
	}
	return now
}

// saidBefore is the entry that is being put right: it happened when it said.
const saidBefore = () => form.mending ?? form.righting

const recentKey = (kind, field) => kind + "." + (field.remember ?? field.name)

// ordered has the last used choices first.
function ordered(kind, field) {
	const recent = known.recent[recentKey(kind, field)] ?? []
	const rank = o => {
		const at = recent.indexOf(o.value)
		return at === -1 ? recent.length : at
	}
	return field.fresh ? field.options : field.options.toSorted((a, b) => rank(a) - rank(b))
}

// likely is what stands chosen at the start: what there is no choice of, what the book or
// the device's last use makes likely, and else nothing. A save by mistake on the wrong tank
// costs more than a touch.
function likely(f, options) {
	if (form.righting && f.name in form.righting.values) return "" // it said something else, and that is not there
	if (options.length === 1) return options[0].value
	const one = [f.value, f.usual && usedLast(recentKey(form.kind, f), f.usual === "today"), f.otherwise].find(v => options.some(o => o.value === v))
	return one ?? ""
}

const dayOf = at => new Date(at).toDateString()

// usedLast is what was chosen or typed last on this device; asked for today, what was today.
const usedLast = (key, today) => today && known.recent["day of " + key] !== dayOf(Date.now()) ? undefined : known.recent[key]?.[0]

// settle works out the fields and gives those that nobody touched what they begin
// with; twice, because some hang on others.
function settle() {
	let kind
	for (let round = 0; round < 3; round++) {
		kind = kinds[form.kind](context())
		if (form.righting) kind.fields.push(whyField())
		form.fields = kind.fields
		for (const f of kind.fields) {
			if (f.type === "choice") {
				const options = ordered(form.kind, f)
				const held = options.some(o => o.value === form.v[f.name])
				if (form.own.has(f.name) && held) continue
				form.own.delete(f.name)
				if (!f.optional) form.v[f.name] = likely(f, options)
				else if (!held) form.v[f.name] = ""
			} else if (!form.own.has(f.name)) {
				const recent = f.remember && usedLast(recentKey(form.kind, f), f.today)
				form.v[f.name] = recent ?? f.value ?? ""
			}
		}
	}
	return kind
}

// whyField asks why something is put right: what is likely stands chosen.
const whyField = () => ({
	type: "choice", name: "why", label: say("why put right"), fresh: true, aside: true, value: say("typed wrong"),
	options: [say("typed wrong"), say("wrong place"), say("read wrong")].map(reason => ({value: reason, label: reason})),
})

const fewOptions = 8

function drawForm() {
	const before = form.fields ?? []
	const kind = known.now ? settle() : {title: say("record"), fields: [], lacks: say(known.me ? "book unknown" : "sign in once")}
	followScale(before, kind.fields)
	form.title = kind.title
	form.stays = kind.stays
	document.title = kind.title + " · pullbook"
	$("form-title").textContent = kind.title
	$("form").dataset.kind = form.kind
	$("mending").hidden = !form.mending
	$("righting").hidden = !form.righting
	$("righting").textContent = form.righting ? say("puts right", form.righting.says) : ""
	$("lacks").hidden = !kind.lacks
	$("lacks").textContent = kind.lacks ?? ""
	$("asks").hidden = Boolean(kind.lacks)
	form.scan = kind.lacks ? undefined : kind.scan
	$("scan-hint").hidden = !form.scan
	swap($("form-ask"), kind.ask && !kind.lacks ? [el("p", {class: "odd"}, kind.ask.text, " ", el("a", {class: "go", href: kind.ask.href}, kind.ask.label))] : [], firstField)
	$("form-note").hidden = !kind.note
	$("form-note").textContent = kind.note ?? ""
	place($("fields"), kind.fields.filter(f => !f.details))
	place($("more-fields"), kind.fields.filter(f => f.details), whenField())
	$("more").querySelector("summary").textContent = [say("more"), ...kind.fields.filter(f => f.details && f.type === "choice").flatMap(chosenOf)].join(" · ")
	if (!field(form.aim)) {
		form.aim = kind.fields.find(f => f.type === "number" && !f.details && !form.v[f.name])?.name
		form.fresh = true
	}
	aimPad()
	judge(kind)
	drawTaken()
}

// chosenOf says what stands chosen in a field that is folded away.
function chosenOf(f) {
	const chosen = f.options.find(o => o.value === form.v[f.name])
	return chosen ? [f.label + ": " + chosen.label] : []
}

// followScale moves the mark in what was typed when another instrument is chosen, whose
// figures have it elsewhere. A mark that somebody set elsewhere stays.
function followScale(before, fields) {
	for (const f of fields) {
		const from = before.find(b => b.name === f.name)?.auto
		const text = form.v[f.name] ?? ""
		if (from && f.auto && from !== f.auto && (!text.includes(mark) || text.indexOf(mark) === from)) form.v[f.name] = markAfter(text, f.auto)
	}
}

// place puts fields where they go, leaving those alone that are there as they are:
// whoever types in one keeps it.
function place(where, fields, ...more) {
	const old = new Map([...where.children].map(e => [e.dataset.like, e]))
	const next = fields.map(f => {
		const like = JSON.stringify([f.name, f.label, f.options ? [ordered(form.kind, f), form.all.has(f.name), form.v[f.name]] : [f.what, f.optional, f.offers]])
		const made = old.get(like) ?? draw(f)
		made.dataset.like = like
		const input = made.querySelector("input[type=text]")
		if (input && input.value !== (form.v[f.name] ?? "")) input.value = form.v[f.name] ?? ""
		return made
	})
	const {fresh} = form
	swap(where, [...next, ...more])
	form.fresh = fresh
}

function draw(f) {
	return f.type === "choice" ? drawChoice(f) : f.type === "ticks" ? drawTicks(f) : drawTyped(f)
}

function drawChoice(f) {
	const options = ordered(form.kind, f)
	const at = options.findIndex(o => o.value === form.v[f.name])
	const many = options.length > fewOptions + 1 && !form.all.has(f.name)
	const shown = many ? options.filter((_, i) => i < fewOptions || i === at) : options
	const none = f.optional ? [{value: "", label: say("none")}] : []
	return el("fieldset", {class: "choice", "data-field": f.name}, el("legend", {}, f.label, !f.optional && !form.v[f.name] && el("small", {}, " " + say("choose"))),
		el("div", {class: "tabs"}, ...[...none, ...shown].map(o => el("label", {class: "tab"},
			el("input", {type: "radio", name: f.name, value: o.value, checked: o.value === form.v[f.name], onchange: () => set({[f.name]: o.value})}),
			el("span", {}, el("b", {}, o.label), o.note && el("small", {}, o.note)))),
			...(many ? [el("button", {type: "button", class: "tab-more", onclick: () => showAll(f, options.find(o => !shown.includes(o)))}, say("more of them", show(options.length - shown.length)))] : [])))
}

const fewTicks = 40

// drawTicks offers what may be ticked; what is ticked is always shown.
function drawTicks(f) {
	const ticked = ticksOf(f)
	const shown = f.options.length > fewTicks + 1 && !form.all.has(f.name) ? f.options.filter((o, i) => i < fewTicks || ticked.includes(o.value)) : f.options
	return el("fieldset", {class: "choice", "data-field": f.name}, el("legend", {}, f.label, el("small", {}, " " + f.says)),
		el("div", {class: "tabs"}, ...shown.map(o => el("label", {class: "tab"},
			el("input", {type: "checkbox", name: f.name, value: o.value, checked: ticked.includes(o.value), onchange: event => tick(f, o.value, event.target.checked)}),
			el("span", {}, el("b", {}, o.label), o.note && el("small", {}, o.note)))),
			...(shown.length < f.options.length ? [el("button", {type: "button", class: "tab-more", onclick: () => showAll(f, f.options.find(o => !shown.includes(o)))}, say("more of them", show(f.options.length - shown.length)))] : [])))
}

// ticksOf is what is ticked: values with spaces between.
const ticksOf = f => (form.v[f.name] ?? "").split(" ").filter(Boolean)

function tick(f, value, on) {
	$("scanned").textContent = ""
	$("scanned").classList.remove("odd")
	set({[f.name]: [...ticksOf(f).filter(v => v !== value), ...(on ? [value] : [])].join(" ")})
}

// showAll shows every choice, and goes on at the first that was not shown.
function showAll(f, next) {
	form.all.add(f.name)
	drawForm()
	document.querySelector(`[name="${CSS.escape(f.name)}"][value="${CSS.escape(next.value)}"]`)?.focus()
}

function drawTyped(f) {
	const unit = f.type === "number" ? known.w.u[f.what].unit : ""
	const id = "in-" + f.name
	return el("div", {class: "typed", "data-field": f.name},
		el("label", {for: id}, f.label, f.optional && el("small", {}, " " + say("optional"))),
		el("div", {class: "in"},
			el("input", {
				id, name: f.name, type: "text", autocomplete: "off", spellcheck: "false", maxlength: f.maxlength ?? 16,
				class: f.type === "number" ? "figure-in" : "", inputmode: f.type === "number" ? "none" : undefined,
				"aria-describedby": "opinion", oninput: event => typed(f.name, event.target), onfocus: event => aim(f.name, event.target), onclick: event => aim(f.name, event.target),
				onkeydown: event => event.key === "Enter" && (event.preventDefault(), save()),
			}), unit && el("span", {class: "unit"}, unit)),
		...(f.offers ?? []).map(o => el("button", {type: "button", class: "offer", onclick: () => set(o.set)}, o.label)))
}

function whenField() {
	const id = "in-when"
	const empty = saidBefore() ? say("left empty as it was", timeOf(saidBefore().at)) : say("left empty now")
	const made = $(id)?.closest(".typed")
	if (made?.dataset.like === empty) {
		if ($(id).value !== (form.v.when ?? "")) $(id).value = form.v.when ?? ""
		return made
	}
	return el("div", {class: "typed", "data-field": "when", "data-like": empty},
		el("label", {for: id}, say("when"), el("small", {}, " " + empty)),
		el("div", {class: "in"}, el("input", {id, name: "when", type: "datetime-local", value: form.v.when, oninput: event => set({when: event.target.value})})))
}

// field is a field as it is now: what an instrument shows follows the instrument.
const field = name => form?.fields?.find(f => f.name === name)

// aim points the pad at a field. What stands in it is written over by the first
// figure.
function aim(name, input) {
	form.aim = name
	form.fresh = true
	aimPad()
	if (field(name)?.type === "number") input.select()
}

// aimPad shows the pad for the field that it writes in.
function aimPad() {
	const f = field(form.aim)
	$("pad").hidden = f?.type !== "number"
	$("pad-mark").disabled = !(f?.places > 0)
	for (const e of document.querySelectorAll("#form .typed")) e.classList.toggle("aimed", e.dataset.field === form.aim)
}

function typed(name, input) {
	form.fresh = false
	const f = field(name)
	if (f.type === "number") input.value = marked(f, input.value)
	set({[name]: input.value}, true)
}

// marked puts the mark where a figure of this sort has it: 174 is 17.4.
function marked(f, text) {
	return f.auto && new RegExp(`^\\d{${f.auto + 1}}$`).test(text) ? markAfter(text, f.auto) : text
}

function press(key) {
	const f = field(form?.aim)
	if (f?.type !== "number") return
	const before = form.fresh ? "" : form.v[f.name] ?? ""
	form.fresh = false
	let text = before
	if (key === "back") text = before.endsWith(mark) ? before.slice(0, -2) : before.slice(0, -1)
	else if (key === "mark") text = before.includes(mark) || f.places === 0 ? before : (before || "0") + mark
	else if (before.length < 9) text = marked(f, before + key)
	set({[f.name]: text}, true)
}

// set takes in what was chosen or typed.
function set(values, quiet) {
	for (const [name, value] of Object.entries(values)) {
		form.v[name] = value
		form.own.add(name)
		// What follows from a choice is worked out anew.
		for (const f of form.fields) if (f.type !== "choice" && "follows" in f && name !== f.name && !quiet) form.own.delete(f.name)
	}
	form.touched = true
	form.unsaved = undefined
	drawForm()
	keepDraft()
}

function keepDraft() {
	const {title, photos} = form
	return kept.put(form.key, {v: own(), touched: true, title, says: title + ": " + summary(), at: Date.now(), photos})
}

// take takes in a picture from the camera.
async function take(input) {
	const [file] = input.files, taking = form
	input.value = ""
	if (!file || !taking) return
	const waiting = known.all.flatMap(e => e.photos ?? []).filter(p => p.state === "waiting").length
	if (waiting + taking.photos.length >= mostWaiting) return void ($("taken-says").textContent = say("pictures wait", show(mostWaiting)))
	let bytes
	try {
		bytes = await small(file)
	} catch {
		$("taken-says").textContent = say("no picture")
		return
	}
	if (form !== taking) return // another screen is open by now
	form.photos = [...form.photos, {id: newID(), bytes}]
	form.touched = true
	$("taken-says").textContent = ""
	drawTaken()
	await keepDraft()
}

// drawTaken shows the pictures that go with the entry.
function drawTaken() {
	const had = form.mending?.photos?.length ?? 0
	$("take").closest("label").hidden = had + form.photos.length >= mostOfEntry
	swap($("taken"), form.photos.map((p, i) => {
		const image = el("img", {alt: say("picture", show(i + 1), show(Math.ceil(p.bytes.byteLength / 1024)))})
		seen(p.bytes).then(address => { image.src = address })
		return el("li", {"data-like": p.id + i}, image, el("p", {class: "note"}, image.alt), el("button", {type: "button", onclick: () => takeAway(p)}, say("take away")))
	}), () => $("take"))
}

function takeAway(photo) {
	form.photos = form.photos.filter(p => p !== photo)
	drawTaken()
	keepDraft()
}

const own = () => Object.fromEntries([...form.own].map(name => [name, form.v[name]]))

// judge says what the book thinks, or why it was not saved until something is changed:
// news of the book, which may come the moment after, takes neither away.
function judge(kind) {
	const opinions = kind.lacks ? [] : kind.opinion()
	const worst = opinions.some(o => o.level === "wrong") ? "wrong" : opinions.some(o => o.level === "odd") ? "odd" : opinions.length > 0 ? "fine" : ""
	form.worst = worst
	const said = form.unsaved ? [{level: "wrong", text: form.unsaved}] : opinions
	const made = said.flatMap(o => [
		el("p", {class: "said " + o.level}, el("span", {class: "sign", "aria-hidden": "true"}, {fine: "✓", odd: "?", wrong: "✕"}[o.level]), " ", o.text),
		...(o.fixes ?? []).map(x => el("button", {type: "button", class: "offer", onclick: () => set(x.set)}, x.label)),
	])
	const box = $("opinion")
	const before = box.textContent
	const next = el("div", {}, ...made)
	if (before !== next.textContent || !box.firstChild) swap(box, [...next.children], firstField)
	box.dataset.level = worst
	$("save").textContent = kind.save ?? say(worst === "odd" ? "save as typed" : "save")
}

// missingField is the first field that must hold something and does not.
function missingField(kind) {
	for (const f of kind.fields) {
		const text = (form.v[f.name] ?? "").trim()
		if (text === "" && !f.optional) return {f, text: say("is missing", f.label)}
		if (text !== "" && f.type === "number") {
			const v = read(text, f.places)
			if (Number.isNaN(v)) return {f, text: say("is no figure", f.label, text)}
			if (v < 0 && f.what !== "temperature" && f.what !== "celsius") return {f, text: say("is below nothing", f.label)}
			if (f.places === 0 && !Number.isInteger(v)) return {f, text: say("is not whole", f.label)}
		}
	}
	const text = kind.missing?.()
	return text ? {f: kind.fields.find(f => f.type === "number" || f.type === "ticks"), text} : undefined
}

// summary is the entry in a line: what was chosen and typed.
function summary() {
	return form.fields.filter(f => !f.details && !f.aside && (form.v[f.name] ?? "") !== "").map(f => {
		if (f.type === "choice") return f.options.find(o => o.value === form.v[f.name])?.label ?? ""
		if (f.says) return f.says
		if (f.type !== "number") return form.v[f.name]
		const unit = known.w.u[f.what].unit
		return unit ? form.v[f.name] + "\u00a0" + unit : f.what === "count" ? f.label + "\u00a0" + form.v[f.name] : form.v[f.name]
	}).filter(Boolean).join(", ")
}

// readCode takes in the code of a container.
function readCode(code) {
	const got = form?.scan?.(code)
	if (!got) return
	if (got.set) set(got.set)
	$("scanned").textContent = got.text ?? (got.set ? say("code read", got.says) : say("no such container", got.unknown))
	$("scanned").classList.toggle("odd", Boolean(got.odd))
	firstField()?.focus({preventScroll: true})
	if (got.odd) $("scanned").scrollIntoView({block: "nearest"})
}

async function readCodeByCamera() {
	try {
		const code = await readByCamera($("camera"))
		if (code) readCode(code)
	} catch (error) {
		$("scanned").textContent = say("camera fails", error.name)
	}
}

let saving = false

async function save() {
	if (saving || !form || !$("lacks").hidden) return
	const kind = settle()
	const missing = missingField(kind)
	if (missing || form.worst === "wrong") {
		const input = missing && ($("in-" + missing.f.name) ?? $("form").querySelector(`[name="${CSS.escape(missing.f.name)}"]`))
		if (missing) unsaved(kind, missing.text)
		if (input?.type === "text") input.setAttribute("aria-invalid", "true")
		if (input?.type === "radio") input.closest("fieldset").scrollIntoView({block: "center"})
		;(input ?? $("fields").querySelector("input.figure-in"))?.focus({preventScroll: input?.type === "radio"})
		$("opinion").scrollIntoView({block: "nearest"})
		return
	}
	saving = true
	try {
		await keep(kind)
	} catch (error) {
		unsaved(kind, say("cannot keep", String(error?.message ?? error)))
	} finally {
		saving = false
	}
}

// unsaved says why what is typed was not saved, each time that somebody tries.
function unsaved(kind, why) {
	if (!form) return // the screen was left meanwhile
	form.unsaved = why
	$("opinion").replaceChildren()
	judge(kind)
}

async function keep(kind) {
	const saved = form // another screen may be open before this is kept
	const now = context()
	const asEntered = {}
	for (const f of kind.fields) {
		const text = (saved.v[f.name] ?? "").trim()
		if (f.type === "number" && text !== "") asEntered[f.api ?? f.name] = (text + " " + known.w.u[f.what].unit).trim().slice(0, 80)
	}
	const made = kind.entries()
	for (const p of saved.photos) await kept.put("photo:" + p.id, p.bytes)
	const photos = [...(saved.mending?.photos ?? []), ...saved.photos.map(p => ({id: p.id, state: "waiting"}))]
	const says = kind.title + ": " + summary()
	for (const [i, e] of made.entries()) {
		const last = i === made.length - 1
		const id = e.body.id ?? (last && saved.mending ? saved.mending.body.id : newID())
		const entry = {
			...e, id, kind: last ? saved.kind : "", at: now.at, says: last ? says : e.body.code ?? says,
			body: {...e.body, id, occurred_at: now.at, via: "device", ...(last && Object.keys(asEntered).length > 0 ? {as_entered: asEntered} : {}), ...(last ? replacing(saved) : {})},
			photos: last && photos.length > 0 ? photos : undefined,
			root: last && saved.righting ? saved.righting.root ?? saved.righting.id : undefined,
			values: {...saved.v, ...kind.next?.(made)}, person: known.me?.person, outfit: known.me?.outfit ?? known.shed.outfit_id,
		}
		if (last && saved.mending) await mend(saved.mending.seq, {...entry, person: saved.mending.person, outfit: saved.mending.outfit})
		else await add(entry)
	}
	await kept.remove(saved.key)
	remember(kind, saved)
	known.last = says
	await look()
	if (form !== saved) return
	if (kind.stays && !saved.mending && !saved.righting) return anotherOne(kind, saved, kind.next?.(made) ?? {})
	form = undefined
	if (location.hash === "") route()
	else location.hash = ""
}

// replacing is what an entry says of the one that it puts right; one that is refused stays
// what it was.
function replacing({mending, righting, v}) {
	if (righting) return {replaces: righting.id, reason: v.why}
	return mending?.body.replaces ? {replaces: mending.body.replaces, reason: mending.body.reason} : {}
}

// anotherOne keeps the screen for the next of the same sort: what was chosen stays.
function anotherOne(kind, before, chosen) {
	form = {kind: before.kind, key: before.key, v: {}, own: new Set(), touched: false, all: before.all, photos: []}
	for (const f of kind.fields) {
		if (f.type !== "choice") continue
		form.v[f.name] = before.v[f.name]
		form.own.add(f.name)
	}
	Object.assign(form.v, chosen)
	drawForm()
	$("in-gross")?.focus({preventScroll: true})
	showResult($("result"))
}

function remember(kind, saved) {
	const recent = {...known.recent}
	for (const f of kind.fields) {
		if (f.type === "choice" || f.remember) {
			const key = recentKey(saved.kind, f), value = saved.v[f.name]
			if (value) Object.assign(recent, {[key]: [value, ...(recent[key] ?? []).filter(v => v !== value)].slice(0, 6), ["day of " + key]: dayOf(Date.now())})
		}
	}
	known.recent = recent
	return kept.put("recent", recent)
}

// showResult says what became of the entry that was saved last.
function showResult(where) {
	const mine = known.last ? known.all.filter(e => e.kind).at(-1) : undefined
	if (!mine) {
		where.replaceChildren()
		return
	}
	const waiting = known.all.filter(e => e.state === "waiting").length
	const head = mine.state === "waiting" ? waiting === 1 ? say("kept one waits") : say("kept so many wait", show(waiting)) : say(mine.state)
	const next = el("div", {class: "result " + mine.state},
		el("p", {}, el("span", {class: "sign", "aria-hidden": "true"}, stateIcon[mine.state]), " ", el("b", {}, head), " · ", mine.says),
		...consequences(mine).map(c => el("p", {class: c.odd ? "odd" : ""}, c.text)))
	if (where.textContent !== next.textContent) where.replaceChildren(next)
}

// ---- which screen

async function route() {
	const [name, seq] = location.hash.slice(1).split("/")
	await look()
	const screen = kinds[name] ? "form" : name === "run" ? "run" : "home"
	document.title = say(screen === "run" ? "run" : "record") + " · pullbook"
	// A screen is shown once it is ready: what is touched before would be lost.
	if (screen !== "form") form = undefined
	else if (!await openForm(name, Number(seq) || undefined)) return
	if (screen === "run") showRun()
	if (screen === "home") showHome()
	for (const id of ["home", "run", "form"]) $(id).hidden = id !== screen
	if (screen === "form") return beginForm()
	$(screen === "home" ? "content" : "run-title").focus({preventScroll: true})
	scrollTo(0, 0)
}

// beginForm puts the focus where typing begins. What is typed is seen, and the pad if
// there is room for both.
function beginForm() {
	const first = $("lacks").hidden ? firstField() : $("form").querySelector(".back")
	first?.focus({preventScroll: true})
	scrollTo(0, 0)
	$("pad").scrollIntoView({block: "nearest"})
	first?.closest(".typed")?.scrollIntoView({block: "nearest"})
}

// firstField is the first figure that is still to be typed: a tare that is
// remembered needs no touch.
function firstField() {
	const figures = [...$("fields").querySelectorAll("input.figure-in")]
	return figures.find(i => i.value === "") ?? figures[0] ?? $("fields").querySelector("input")
}

function showHome() {
	showStand()
	showEntries()
	showResult($("home-result"))
	showDrafts()
	const run = known.now?.runs[0]
	const prepared = known.now?.prepared ?? []
	$("tile-dispatch").textContent = prepared.length === 0 ? say("by a manager") : prepared.length === 1 ? say("one to load", prepared[0].buyer) : say("so many to load", show(prepared.length))
	const blends = known.now?.blends ?? []
	$("tile-blend").closest("li").hidden = blends.length === 0
	$("tile-blend").textContent = blends.length === 1 ? say("one to pour", blends[0].title) : say("so many to pour", show(blends.length))
	const plans = stepsLeft(known.now)
	$("tile-step").closest("li").hidden = plans.length === 0
	$("tile-step").textContent = plans.length === 1 ? plans[0].title : say("so many plans", show(plans.length))
	const due = known.now?.checks?.filter(c => isDue(c)) ?? []
	if (due.length > 0) $("tile-check").textContent = due.length === 1 ? say("one due", due[0].name) : say("so many due", show(due.length))
	else $("tile-check").textContent = say("none due")
	$("tile-run").textContent = run ? say("run open", run.name) : say("none open")
	$("tile-run").closest("a").setAttribute("href", known.now && !run ? "#start" : "#run")
}

function showRun() {
	const run = known.now?.runs[0]
	for (const tile of document.querySelectorAll("#run .tile:not([href='#start'])")) tile.parentElement.hidden = Boolean(known.now) && !run
	$("run-state").textContent = run ? say("run stands", run.name, show(run.supers_in), show(run.last_load), known.w.mass(run.honey_kg)) : say("no run open")
}

async function changed() {
	await look()
	if (!$("home").hidden) showHome()
	if (!$("run").hidden) showRun()
	if (!$("form").hidden && form) {
		// What became of another entry would move what is asked here: the first screen
		// has it, and this one where there is room kept for it.
		if (form.stays) showResult($("result"))
		const lacked = !$("lacks").hidden
		drawForm()
		if (lacked && $("lacks").hidden) beginForm()
	}
}

function start() {
	addEventListener("hashchange", route)
	onChange(changed)
	$("save").addEventListener("click", save)
	$("take").addEventListener("change", event => take(event.target))
	onCode(readCode, () => form?.scan)
	$("camera-button").hidden = !hasCamera
	$("camera-button").addEventListener("click", readCodeByCamera)
	for (const link of document.querySelectorAll("a.back")) link.addEventListener("click", async () => form && !form.touched && kept.remove(form.key))
	for (const key of document.querySelectorAll("#pad button[data-key]")) {
		key.addEventListener("click", () => press(key.dataset.key))
		key.addEventListener("pointerdown", event => event.preventDefault()) // the field keeps the focus
	}
	$("pad-mark").textContent = mark
	navigator.storage?.persist?.()
	navigator.serviceWorker?.addEventListener("controllerchange", () => { $("newer").hidden = !hadWorker; hadWorker = true })
	$("newer").querySelector("button").addEventListener("click", () => location.reload())
	route().then(() => { document.documentElement.dataset.ready = "true" })
}

let hadWorker = Boolean(navigator.serviceWorker?.controller)

if (!("indexedDB" in self)) $("stand").textContent = say("cannot keep", "IndexedDB")
else start()
