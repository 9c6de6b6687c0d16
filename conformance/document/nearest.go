package document

import "slices"

// Nearest returns the word that a mistyped one was probably meant to be, or "": the one with the fewest letters to change, if those
// are at most two and fewer than half. It sorts the words.
func Nearest(word string, words []string) string {
	best, fewest := "", min(2, (len(word)-1)/2)+1
	slices.Sort(words)
	for _, w := range words {
		if d := distance(word, w); d < fewest {
			best, fewest = w, d
		}
	}
	return best
}

// distance returns how many letters must be put in, taken out, replaced, or swapped with their neighbour to make one word of another;
// words that differ in length by more than two count as far apart.
func distance(a, b string) int {
	const far = 1 << 10
	if len(a)-len(b) > 2 || len(b)-len(a) > 2 {
		return far
	}
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
		for j := 1; j <= len(b); j++ {
			if i == 0 {
				rows[i][j] = j
				continue
			}
			replace := 1
			if a[i-1] == b[j-1] {
				replace = 0
			}
			rows[i][j] = min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+replace)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				rows[i][j] = min(rows[i][j], rows[i-2][j-2]+1)
			}
		}
	}
	return rows[len(a)][len(b)]
}
