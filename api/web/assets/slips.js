// What somebody recorded on this device and puts right: an entry that takes it back, or
// that stands in its place. It goes behind what it puts right, and the book keeps both. The
// book says who may still do so without a manager; here it is offered for today.

import { isMine } from "./queue.js"

const counts = e => e.state === "waiting" || e.state === "sent"

// rightedBy is the entry that takes another one back or stands in its place.
export const rightedBy = (e, all) => all.find(o => counts(o) && o.body.replaces === e.id)

// mayPutRight reports whether whoever is signed in is offered to put an entry right. What
// was sent off a manager puts right on the page of dispatches.
export function mayPutRight(e, all, me) {
	if (!me || me.role === "reader" || !counts(e) || e.path === "withdrawals" || e.path === "dispatches" || rightedBy(e, all)) return false
	return isMine(e, me) || me.role === "manager" && (!e.outfit || e.outfit === me.outfit)
}

// takingBack is the entry that takes another one back.
export function takingBack(e, id, reason, says, me) {
	const at = new Date().toISOString()
	return {
		id, path: "withdrawals", kind: "", at, says, values: {}, person: me.person, outfit: me.outfit,
		body: {id, occurred_at: at, replaces: e.id, reason, via: "device"},
	}
}

// withoutIt are the entries as if one of them had been taken back.
export const withoutIt = (e, all) => [...all, {state: "waiting", path: "withdrawals", body: {replaces: e.id}}]
