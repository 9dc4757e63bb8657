// Pictures that are taken with an entry: of the label, the prism, the gauge. They are made
// small before the device keeps them.

// How many an entry may have, as the book has it (MostPhotosOfEntry), and how many wait on
// the device at the most: 30 of 300 kB are 9 MB.
export const mostOfEntry = 3, mostWaiting = 30

// What a picture may be: pixels along the longer side, and bytes. The book takes 512 KiB.
const mostAcross = 1600, leastAcross = 400, mostBytes = 300 * 1024

// small gives a picture as a JPEG of few bytes. It is drawn anew, so that nothing comes along
// but what is seen: no place, no time, no name of the camera (EXIF).
export async function small(file) {
	const picture = await createImageBitmap(file)
	const longest = Math.max(picture.width, picture.height)
	for (let across = mostAcross; across >= leastAcross; across = Math.round(0.7 * across)) {
		const scale = Math.min(1, across / longest)
		const canvas = document.createElement("canvas")
		canvas.width = Math.max(1, Math.round(scale * picture.width))
		canvas.height = Math.max(1, Math.round(scale * picture.height))
		canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height)
		for (const quality of [0.8, 0.6, 0.4]) {
			const made = await new Promise(resolve => canvas.toBlob(resolve, "image/jpeg", quality))
			if (made && made.size <= mostBytes) return made.arrayBuffer()
		}
	}
	throw new Error("no JPEG comes of it")
}

// seen is a picture as the address of an image.
export const seen = bytes => new Promise((resolve, reject) => {
	const reader = new FileReader()
	reader.onload = () => resolve(reader.result)
	reader.onerror = () => reject(reader.error)
	reader.readAsDataURL(new Blob([bytes], {type: "image/jpeg"}))
})
