package db

import (
	"context"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

const devicePrefix = "device_"

// DeviceOutfit reads whose outfit a device's secret is of; false where it is none.
func DeviceOutfit(secret string) (uuid.UUID, bool) { return outfitIn(devicePrefix, secret) }

const sqlInsertDevice = `
INSERT INTO known_device (outfit_id, person_id, hash)
VALUES ($1, $2, $3)`

// Of a person the latest ten devices are known, so that signing in again and again
// fills nothing.
const sqlForgetDevices = `
DELETE FROM known_device
 WHERE outfit_id = $1
   AND person_id = $2
   AND hash NOT IN (
       SELECT hash FROM known_device WHERE outfit_id = $1 AND person_id = $2
        ORDER BY created_at DESC, hash LIMIT 10)`

// KnowDevice makes the secret of a device on which a person signed in. The secret
// lets nobody in: it only tells the device from strangers' when a password is tried.
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

// DevicePerson says who signed in on the device that has a secret; nobody where the
// secret is not good.
func (d *DB) DevicePerson(ctx context.Context, secret string) (person uuid.UUID, err error) {
	defer fault.Wrap(&err, "look up a device")
	outfit, ok := DeviceOutfit(secret)
	if !ok {
		return uuid.Nil, nil
	}
	hash := hashOf(secret)
	err = d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sqlDevicePeople, outfit, hash[:]).Query(func(rows pgx.Rows) error {
			people, err := pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
			if len(people) > 0 {
				person = people[0]
			}
			return err
		})
	})
	return person, err
}
