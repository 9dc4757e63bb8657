// The page's sentences, in the reader's language; places in them are %s.

const sentences = JSON.parse(document.getElementById("words").textContent)

export function say(key, ...args) {
	const sentence = sentences[key]
	if (sentence === undefined) throw new Error("no words for " + key)
	let i = 0
	return sentence.replace(/%(?:\[(\d)\])?s/g, (_, n) => args[n ? n - 1 : i++])
}
