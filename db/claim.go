package db

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/ledger"
)

// sqlInsertClaims stores the names that entries take.
const sqlInsertClaims = `
INSERT INTO claim (outfit_id, noun, code, use_no, root_id)
SELECT $1, x.* FROM unnest($2::text[], $3::text[], $4::int[], $5::uuid[]) AS x`

// storeClaims stores the names that entries took.
func storeClaims(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, claims []ledger.Claim) error {
	for len(claims) > 0 {
		n := min(len(claims), 4*pageRows)
		var nouns, codes []string
		var uses []int32
		var roots [][16]byte
		for _, c := range claims[:n] {
			nouns, codes = append(nouns, string(c.Noun)), append(codes, c.Code)
			uses, roots = append(uses, int32(c.Use)), append(roots, c.Root)
		}
		if _, err := tx.Exec(ctx, sqlInsertClaims, outfit, nouns, codes, uses, roots); err != nil {
			return err
		}
		claims = claims[n:]
	}
	return nil
}

const sqlClaims = `
SELECT noun, code, use_no, root_id
  FROM claim
 WHERE outfit_id = $1
 ORDER BY noun, code, use_no`

// storeNewClaims stores the claims that the book lacks.
func storeNewClaims(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, claims []ledger.Claim) error {
	rows, err := tx.Query(ctx, sqlClaims, outfit)
	if err != nil {
		return err
	}
	had := map[ledger.Claim]bool{}
	var c ledger.Claim
	if _, err := pgx.ForEachRow(rows, []any{&c.Noun, &c.Code, &c.Use, &c.Root}, func() error { had[c] = true; return nil }); err != nil {
		return err
	}
	var more []ledger.Claim
	for _, c := range claims {
		if !had[c] {
			more = append(more, c)
		}
	}
	return storeClaims(ctx, tx, outfit, more)
}
