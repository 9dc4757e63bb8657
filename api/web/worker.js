// Keeps the recording page on the device, so that it opens without network.
// What is asked of the book goes past it.

const keptIn = "pullbook-" + program.version

self.addEventListener("install", event => event.waitUntil(keep()))

async function keep() {
	const cache = await caches.open(keptIn)
	await cache.addAll(program.keep)
	await cache.add(new Request(program.page, {credentials: "same-origin", cache: "reload"}))
	// Swapping workers changes nothing for a page that is open: it has its
	// scripts, and what was typed is in the device's store.
	await self.skipWaiting()
}

self.addEventListener("activate", event => event.waitUntil(tidy()))

async function tidy() {
	for (const name of await caches.keys()) {
		if (name.startsWith("pullbook-") && name !== keptIn) await caches.delete(name)
	}
	await self.clients.claim()
}

// A page asks to be taken over that was on its way while this worker became active.
self.addEventListener("message", event => event.waitUntil(self.clients.claim()))

self.addEventListener("fetch", event => {
	const request = event.request
	const address = new URL(request.url)
	if (request.method !== "GET" || address.origin !== location.origin) return
	if (request.mode === "navigate") event.respondWith(visit(event, request, address))
	else if (address.pathname.startsWith("/assets/")) event.respondWith(asset(request))
})

// A page comes from the network where there is one. The recording page is not
// waited for: a weak signal is worse than none.
const patience = 1500

async function visit(event, request, address) {
	if (address.pathname !== program.page) {
		try {
			return await fetch(request)
		} catch {
			return Response.redirect(program.page)
		}
	}
	const fresh = fetch(request).then(async answer => {
		if (answer.ok) await (await caches.open(keptIn)).put(program.page, answer.clone())
		return answer
	})
	event.waitUntil(fresh.catch(() => undefined))
	const kept = await caches.match(program.page)
	if (!kept) return fresh
	const late = new Promise(resolve => setTimeout(resolve, patience, kept))
	return Promise.race([fresh.then(answer => answer.ok ? answer : kept), late]).catch(() => kept)
}

// An asset's address holds a digest of its content: what is kept is right.
async function asset(request) {
	const kept = await caches.match(request.url)
	if (kept) return kept
	const answer = await fetch(request)
	if (answer.ok) await (await caches.open(keptIn)).put(request.url, answer.clone())
	return answer
}
