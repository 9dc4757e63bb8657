package importing

import "maps"

// Words of figures that were not weighed or counted as they stand, without accents, in English, Spanish,
// German, French and Portuguese; common practice. They are in headings, titles and names of sheets: who
// looks for them there adds the words that say so in that place alone.
var (
	plannedWords = wordSet(`plan plans planned planning target targets goal goals forecast budget projected projection expected
		estimate estimates estimated
		previsto prevista previstas prevision meta metas objetivo presupuesto esperado esperada esperadas estimado estimada estimados estimadas planeadas
		geplant planung ziel soll geschatzt prevu prevue objectif cible estime previsao alvo estimativa`)
	meanWords = wordSet(`average averages avg mean median promedio promedios durchschnitt schnitt mittelwert moyenne`)
	// roughWords say that somebody guessed.
	roughWords      = wordSet(`approx approximate approximately guess guessed aprox aproximado aproximada`)
	differenceWords = wordSet(`diff difference diferencia differenz ecart diferenca`)
	rateWords       = wordSet(`ratio rate pct percent tasa porcentaje prozent pourcentage porcentagem`)
	// runningWords say that each figure has those before it in it.
	runningWords = wordSet(`cumulative cumul cum ytd accumulated acumulado acumulada acumuladas kumuliert cumule`)
)

// anyOf are the words of several sets.
func anyOf(sets ...map[string]bool) map[string]bool {
	out := map[string]bool{}
	for _, set := range sets {
		maps.Copy(out, set)
	}
	return out
}
