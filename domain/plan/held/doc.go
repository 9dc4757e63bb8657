// Package held holds plans that somebody goes by against what came: which steps are done, and how the figures
// that were expected came out. It plans nothing itself.
package held
