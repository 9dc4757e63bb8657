package db

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/document"
	"pullbook/domain/fault"
)

// CertificateFile is the file of a laboratory's certificate, or a picture that was taken with
// an entry: both are kept alike.
type CertificateFile struct {
	SHA256    [sha256.Size]byte
	MediaType document.Type
	Content   []byte
}

// NewCertificateFile returns a file as it is kept. The error is a fault where its bytes
// are no certificate's.
func NewCertificateFile(content []byte) (*CertificateFile, error) {
	kind, err := document.Read(content)
	if err != nil {
		return nil, err
	}
	return &CertificateFile{sha256.Sum256(content), kind, content}, nil
}

// NewPhotoFile is NewCertificateFile for a picture that was taken with an entry.
func NewPhotoFile(content []byte) (*CertificateFile, error) {
	kind, err := document.ReadPicture(content)
	if err != nil {
		return nil, err
	}
	return &CertificateFile{sha256.Sum256(content), kind, content}, nil
}

// Hex is the file's digest as entries name it.
func (f *CertificateFile) Hex() string { return hex.EncodeToString(f.SHA256[:]) }

// sqlAppendFiling is sqlAppend for an entry that names a file, which it stores too unless
// the outfit has it: both are there afterwards, or neither.
const sqlAppendFiling = sqlTakeNumber + `, entered AS (` + sqlInsertEntry + `
), filed AS (
    INSERT INTO certificate_file (outfit_id, sha256, media_type, content)
    SELECT $1, $13, $14, $15
      FROM entered
        ON CONFLICT (outfit_id, sha256) DO NOTHING
)
SELECT number, digest
  FROM entered`

const (
	sqlCertificateFile = `
SELECT media_type, content
  FROM certificate_file
 WHERE outfit_id = $1
   AND sha256 = $2`
	sqlCertificateDigests = `
SELECT sha256
  FROM certificate_file
 WHERE outfit_id = $1
 ORDER BY sha256`
	sqlInsertCertificateFile = `
INSERT INTO certificate_file (outfit_id, sha256, media_type, content)
VALUES ($1, $2, $3, $4)
    ON CONFLICT (outfit_id, sha256) DO NOTHING`
	// What the bytes come to is worked out where they are.
	sqlCertificateFiles = `
SELECT sha256, media_type, length(content), sha256(content)
  FROM certificate_file
 WHERE outfit_id = $1
 ORDER BY 1`
)

// CertificateFile reads a file by its digest.
func (d *DB) CertificateFile(ctx context.Context, outfit uuid.UUID, digest [sha256.Size]byte) (f CertificateFile, err error) {
	defer fault.Wrap(&err, "read a certificate's file")
	f.SHA256 = digest
	err = d.row(ctx, outfit, []any{&f.MediaType, &f.Content}, sqlCertificateFile, digest[:])
	if errors.Is(err, pgx.ErrNoRows) {
		err = fault.New(fault.NotFound, "The certificate's file is gone from the database. Whoever keeps the program running may bring it back from a backup.")
	}
	return f, err
}

// StoredFile is a file as an audit looks at it.
type StoredFile struct {
	SHA256    [sha256.Size]byte
	MediaType document.Type
	Bytes     int64
	// Content is the digest of the bytes as they are now.
	Content [sha256.Size]byte
}

func storedFile(row pgx.CollectableRow) (f StoredFile, err error) {
	var named, found []byte
	err = row.Scan(&named, &f.MediaType, &f.Bytes, &found)
	copy(f.SHA256[:], named)
	copy(f.Content[:], found)
	return f, err
}
