// What the device keeps: the entries of its queue, in the order in which they
// were made, and single things by name (what the book was when it was last
// asked, what is being typed, what was chosen last).

const name = "pullbook"
const version = 2

let opening

function open() {
	opening ??= new Promise((resolve, reject) => {
		const request = indexedDB.open(name, version)
		request.onupgradeneeded = event => upgrade(request.result, request.transaction, event.oldVersion)
		request.onerror = () => reject(request.error)
		request.onsuccess = () => {
			// Another tab has a newer page: let it go on; this one opens anew.
			request.result.onversionchange = () => {
				request.result.close()
				opening = undefined
			}
			resolve(request.result)
		}
	})
	return opening
}

function upgrade(db, transaction, from) {
	if (from < 2) {
		db.createObjectStore("entries", {keyPath: "seq", autoIncrement: true})
		db.createObjectStore("kept")
	}
	// The first pages kept a queue of bodies and did not say whose they were.
	if (from === 1) {
		const entries = transaction.objectStore("entries")
		transaction.objectStore("queue").getAll().onsuccess = event => {
			for (const old of event.target.result.sort((a, b) => a.at < b.at ? -1 : 1)) {
				entries.add({id: old.body.id, path: old.path, body: old.body, at: old.body.occurred_at, state: "waiting", says: "", kind: ""})
			}
			db.deleteObjectStore("queue")
		}
	}
}

// within does something in one transaction, and resolves once it is on the disk.
async function within(store, mode, work, durability = "strict") {
	const db = await open()
	return new Promise((resolve, reject) => {
		const transaction = db.transaction(store, mode, mode === "readwrite" ? {durability} : {})
		const request = work(transaction.objectStore(store))
		transaction.oncomplete = () => resolve(request?.result)
		transaction.onabort = () => reject(transaction.error)
	})
}

export const entries = {
	all: () => within("entries", "readonly", s => s.getAll()),
	add: entry => within("entries", "readwrite", s => s.add(entry)),
	put: entry => within("entries", "readwrite", s => s.put(entry)),
	// What the book has answered may be forgotten in a crash: it is asked again.
	settle: some => within("entries", "readwrite", s => { for (const e of some) s.put(e) }, "relaxed"),
	remove: seq => within("entries", "readwrite", s => s.delete(seq)),
}

export const kept = {
	get: key => within("kept", "readonly", s => s.get(key)),
	put: (key, value) => within("kept", "readwrite", s => s.put(value, key)),
	remove: key => within("kept", "readwrite", s => s.delete(key)),
	keys: () => within("kept", "readonly", s => s.getAllKeys()),
	// take notes who has something until when, unless somebody else has it now.
	take: async (key, who, until) => {
		let taken
		await within("kept", "readwrite", s => {
			s.get(key).onsuccess = event => {
				const had = event.target.result
				taken = !had || had.who === who || had.until < Date.now()
				if (taken) s.put({who, until}, key)
			}
		}, "relaxed")
		return taken
	},
}
