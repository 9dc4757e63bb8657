package db

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

const devicePrefix = "device_"

// DeviceOutfit returns the outfit that a device's secret names; false where the text is no
// such secret.
func DeviceOutfit(secret string) (uuid.UUID, bool) { return outfitIn(devicePrefix, secret) }

const sqlInsertDevice = `
INSERT INTO known_device (outfit_id, person_id, hash)
VALUES ($1, $2, $3)`

// The latest ten devices of a person are known, so that signing in again and again fills
// no table.
const sqlForgetDevices = `
DELETE FROM known_device
 WHERE outfit_id = $1
   AND person_id = $2
   AND hash NOT IN (
       SELECT hash FROM known_device WHERE outfit_id = $1 AND person_id = $2
        ORDER BY created_at DESC, hash LIMIT 10)`

// KnowDevice returns a new secret for a device on which a person signed in. The secret lets
// nobody in: it only tells this device from strangers' when somebody tries a password.
func (d *DB) KnowDevice(ctx context.Context, outfit, person uuid.UUID) (secret string, err error) {
	defer fault.Wrap(&err, "know a device again")
	secret = newSecret(devicePrefix, outfit)
	hash := hashOf(secret)
	return secret, d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sqlInsertDevice, outfit, person, hash[:])
		b.Queue(sqlForgetDevices, outfit, person)
	})
}

const sqlDevicePeople = `
SELECT person_id
  FROM known_device
 WHERE outfit_id = $1
   AND hash = $2`

// DevicePerson returns who signed in on the device of a secret; uuid.Nil where the secret
// is unknown.
func (d *DB) DevicePerson(ctx context.Context, secret string) (person uuid.UUID, err error) {
	defer fault.Wrap(&err, "look up a device")
	outfit, ok := DeviceOutfit(secret)
	if !ok {
		return uuid.Nil, nil
	}
	hash := hashOf(secret)
	people, err := list(ctx, d, outfit, pgx.RowTo[uuid.UUID], sqlDevicePeople, hash[:])
	if len(people) > 0 {
		person = people[0]
	}
	return person, err
}
