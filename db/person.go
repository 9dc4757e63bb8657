package db

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

// Role says what a person or program may do.
type Role string

const (
	// Reader reads.
	Reader Role = "reader"
	// Crew reads and records.
	Crew Role = "crew"
	// Manager also corrects, withdraws, sets up and dispatches.
	Manager Role = "manager"
)

// Person is somebody who works for an outfit.
type Person struct {
	ID   uuid.UUID
	Name string
	Role Role
	Left *time.Time
	// HasPassword and HasUnlock say which ways in the person has.
	HasPassword, HasUnlock bool
}

const sqlInsertPerson = `
INSERT INTO person (outfit_id, person_id, name, role, password_hash)
VALUES ($1, $2, $3, $4, nullif($5, ''))
RETURNING ` + personState

// CreatePerson adds a person to an outfit. Without a password, the person cannot sign in
// to the pages.
func (d *DB) CreatePerson(ctx context.Context, outfit uuid.UUID, p Person) error {
	return d.createPerson(ctx, outfit, p, "")
}

// CreatePersonWithPassword adds a person who can sign in to the pages.
func (d *DB) CreatePersonWithPassword(ctx context.Context, outfit uuid.UUID, p Person, password string) error {
	if err := checkPassword(password); err != nil {
		return err
	}
	hash, err := hashSecret(ctx, password)
	if err != nil {
		return err
	}
	return d.createPerson(ctx, outfit, p, hash)
}

func (d *DB) createPerson(ctx context.Context, outfit uuid.UUID, p Person, hash string) (err error) {
	defer fault.Wrap(&err, "create person %q", p.Name)
	err = d.add(ctx, outfit, func(c *changes) error {
		_, err := c.one(personTold, sqlInsertPerson, outfit, p.ID, p.Name, p.Role, hash)
		return err
	})
	if constraint(err) == "person_name_once" {
		return fault.New(fault.Conflict, "The outfit has a person called %s already.", p.Name)
	}
	return err
}

const sqlPeople = `
SELECT person_id, name, role, left_at, password_hash IS NOT NULL, unlock_hash IS NOT NULL
  FROM person
 WHERE outfit_id = $1
 ORDER BY lower(name)`

// People lists the people of an outfit.
func (d *DB) People(ctx context.Context, outfit uuid.UUID) (_ []Person, err error) {
	defer fault.Wrap(&err, "list people")
	return list(ctx, d, outfit, pgx.RowToStructByPos[Person], sqlPeople)
}

const sqlPersonLeaves = `
UPDATE person
   SET left_at = now()
 WHERE outfit_id = $1
   AND person_id = $2
   AND left_at IS NULL
RETURNING ` + personState

// PersonLeaves marks a person as gone, and so ends the person's tokens and sessions at
// once. What the person recorded stays.
func (d *DB) PersonLeaves(ctx context.Context, outfit, person uuid.UUID) (err error) {
	defer fault.Wrap(&err, "person %s leaves", person)
	return d.changePerson(ctx, outfit, sqlPersonLeaves, outfit, person)
}

// PersonCalled finds a person who has not left by name, in whatever case.
func (d *DB) PersonCalled(ctx context.Context, outfit uuid.UUID, name string) (Person, error) {
	people, err := d.People(ctx, outfit)
	for _, p := range people {
		if strings.EqualFold(p.Name, name) && p.Left == nil {
			return p, err
		}
	}
	if err == nil {
		err = fault.New(fault.NotFound, "The outfit has nobody called %s.", name)
	}
	return Person{}, err
}

const sqlSetPassword = `
UPDATE person
   SET password_hash = $3, session_generation = session_generation + 1
 WHERE outfit_id = $1
   AND person_id = $2
   AND left_at IS NULL
RETURNING ` + personState

// SetPassword gives a person a new password, and signs the person out everywhere.
func (d *DB) SetPassword(ctx context.Context, outfit, person uuid.UUID, password string) (err error) {
	defer fault.Wrap(&err, "set a password")
	if err := checkPassword(password); err != nil {
		return err
	}
	hash, err := hashSecret(ctx, password)
	if err != nil {
		return err
	}
	return d.changePerson(ctx, outfit, sqlSetPassword, outfit, person, hash)
}

const sqlSetUnlock = `
UPDATE person
   SET unlock_hash = $3
 WHERE outfit_id = $1
   AND person_id = $2
   AND left_at IS NULL
RETURNING ` + personState

// SetUnlock gives a person a new code for the shed's tablets.
func (d *DB) SetUnlock(ctx context.Context, outfit, person uuid.UUID, code string) (err error) {
	defer fault.Wrap(&err, "set an unlock code")
	if err := checkUnlock(code); err != nil {
		return err
	}
	hash, err := hashSecret(ctx, code)
	if err != nil {
		return err
	}
	if err := d.changePerson(ctx, outfit, sqlSetUnlock, outfit, person, hash); err != nil {
		return err
	}
	return d.ForgetWrongCodes(ctx, outfit, person)
}

const sqlSignOutEverywhere = `
UPDATE person
   SET session_generation = session_generation + 1
 WHERE outfit_id = $1
   AND person_id = $2
RETURNING ` + personState

// SignOutEverywhere ends all sessions of a person at once.
func (d *DB) SignOutEverywhere(ctx context.Context, outfit, person uuid.UUID) (err error) {
	defer fault.Wrap(&err, "sign a person out")
	return d.changePerson(ctx, outfit, sqlSignOutEverywhere, outfit, person)
}

const sqlSetRole = `
UPDATE person
   SET role = $3
 WHERE outfit_id = $1
   AND person_id = $2
   AND left_at IS NULL
RETURNING ` + personState

// SetRole changes what a person may do, at once.
func (d *DB) SetRole(ctx context.Context, outfit, person uuid.UUID, role Role) (err error) {
	defer fault.Wrap(&err, "set a role")
	return d.changePerson(ctx, outfit, sqlSetRole, outfit, person, role)
}

// changePerson runs a statement that changes one person.
func (d *DB) changePerson(ctx context.Context, outfit uuid.UUID, sql string, args ...any) error {
	err := d.change(ctx, outfit, func(c *changes) error {
		_, err := c.one(personTold, sql, args...)
		return err
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.New(fault.NotFound, "The outfit has no such person, or the person has left.")
	}
	return err
}

// Locker is somebody who can unlock the shed's tablets.
type Locker struct {
	ID   uuid.UUID
	Name string
}

const sqlLockers = `
SELECT person_id, name
  FROM person
 WHERE outfit_id = $1
   AND left_at IS NULL
   AND unlock_hash IS NOT NULL
 ORDER BY lower(name)`

// Lockers returns the people of an outfit who have an unlock code.
func (d *DB) Lockers(ctx context.Context, outfit uuid.UUID) (_ []Locker, err error) {
	defer fault.Wrap(&err, "list who unlocks")
	return list(ctx, d, outfit, pgx.RowToStructByPos[Locker], sqlLockers)
}

const sqlInsertPersonOnce = `
INSERT INTO person (outfit_id, person_id, name, role, left_at, created_at)
VALUES ($1, $2, $3, $4, $5, coalesce(least($5, now()), now()))
    ON CONFLICT (outfit_id, person_id) DO NOTHING`
