package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
)

// A backup file is three things in a row: a line that says what it is, what
// pg_dump wrote, and a line with the length and the SHA-256 of all before it.
// The length and the digest come last, so that a backup can go into a pipe.
const (
	backupHead = "pullbook backup 1\n"
	backupTail = "\npullbook backup ends after %020d bytes with sha256 %x\n"
	tailStart  = "\npullbook backup ends after "
	// dumpHead begins what pg_dump writes. Backups from before there were
	// checksums are that and nothing else.
	dumpHead = "PGDMP"
)

var tailLength = int64(len(fmt.Sprintf(backupTail, 0, [sha256.Size]byte{})))

// seal writes a backup file.
type seal struct {
	to      io.Writer
	sum     hash.Hash
	written int64
	// err is why the file could not be written. What pg_dump says of that is only
	// that nobody reads its output.
	err error
}

func newSeal(to io.Writer) *seal {
	s := &seal{to: to, sum: sha256.New()}
	_, _ = io.WriteString(s, backupHead) // close says whether it went wrong
	return s
}

func (s *seal) Write(p []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	n, err := s.to.Write(p)
	s.sum.Write(p[:n])
	s.written += int64(n)
	s.err = err
	return n, err
}

// close ends the file and returns its size.
func (s *seal) close() (int64, error) {
	if s.err != nil {
		return 0, s.err
	}
	_, err := io.WriteString(s.to, tail(s.written, s.sum))
	return s.written + tailLength, err
}

// tail is the last line of a backup file.
func tail(length int64, sum hash.Hash) string {
	return fmt.Sprintf(backupTail, length, sum.Sum(nil))
}

// backup is a file to restore from.
type backup struct {
	name string
	file *os.File
	// from and to bound what pg_dump wrote.
	from, to int64
	// sum is of all bytes from the file's first to the byte before to.
	sum []byte
	// sealed is false where the file is from before there were checksums.
	sealed bool
}

// openBackup opens a backup and checks that each of its bytes is as it was
// written. A file that can only be read once, such as a pipe, is copied first.
func openBackup(name string, in io.Reader) (_ *backup, err error) {
	b := &backup{name: name}
	if name == "-" {
		b.name = "standard input"
		b.file, err = spool(in)
	} else if b.file, err = os.Open(name); err == nil {
		var info fs.FileInfo
		if info, err = b.file.Stat(); err == nil && !info.Mode().IsRegular() {
			pipe := b.file
			defer pipe.Close()
			b.file, err = spool(pipe)
		}
	}
	if err != nil {
		return nil, err
	}
	if err := b.check(); err != nil {
		return nil, errors.Join(fmt.Errorf("%s %w Nothing was changed", b.name, err), b.Close())
	}
	return b, nil
}

// spool copies what can be read only once into a file without a name.
func spool(in io.Reader) (*os.File, error) {
	file, err := os.CreateTemp("", "pullbook-restore-")
	if err != nil {
		return nil, err
	}
	err = os.Remove(file.Name())
	if err == nil {
		_, err = io.Copy(file, in)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the backup cannot be kept in the folder for temporary files, %s, while it is checked: %w; TMPDIR names another folder", os.TempDir(), err), file.Close())
	}
	return file, nil
}

func (b *backup) Close() error { return b.file.Close() }

// check reads the file once from its beginning to its end.
func (b *backup) check() error {
	info, err := b.file.Stat()
	if err != nil {
		return err
	}
	size := info.Size()
	head := make([]byte, min(size, int64(len(backupHead))))
	end := make([]byte, min(size, tailLength))
	if _, err := b.file.ReadAt(head, 0); err != nil {
		return err
	}
	if _, err := b.file.ReadAt(end, size-int64(len(end))); err != nil {
		return err
	}
	hasTail := bytes.HasPrefix(end, []byte(tailStart))
	switch {
	case size == 0:
		return errors.New("is empty: the backup never came into it, or a copy of it broke off. Take another copy or an older backup")
	case string(head) == backupHead:
		return b.checkSum(size, end)
	case hasTail:
		return errors.New("is damaged: its first bytes are not those that pullbook backup wrote. Take another copy or an older backup")
	case bytes.HasPrefix(head, []byte(dumpHead)):
		b.to = size
		return b.add(b.to)
	case bytes.HasPrefix([]byte(backupHead), head):
		return fmt.Errorf("is cut short: it ends after %d bytes. Take another copy or an older backup", size)
	}
	return errors.New("is not a file that pullbook backup wrote")
}

// checkSum compares a file that begins as a backup with what its last line says.
func (b *backup) checkSum(size int64, end []byte) error {
	b.sealed, b.from, b.to = true, int64(len(backupHead)), size-tailLength
	var length int64
	_, err := fmt.Sscanf(string(end), backupTail[:len(tailStart)+len("%020d")], &length)
	switch {
	case b.to < b.from || err != nil:
		return fmt.Errorf("is cut short, or something was added to it: after %d bytes it does not end as a backup does. Take another copy or an older backup", size)
	case length != b.to:
		return fmt.Errorf("has %d bytes too many or too few: pullbook backup wrote %d bytes, and these are %d. Something was added to the file or cut out of it. Take another copy or an older backup", max(length-b.to, b.to-length), length+tailLength, size)
	}
	if err := b.add(b.to); err != nil {
		return err
	}
	if want := fmt.Sprintf(backupTail, length, b.sum); want != string(end) {
		return fmt.Errorf("is damaged: at least one of its %d bytes is not what pullbook backup wrote. Take another copy or an older backup", size)
	}
	return nil
}

// add computes the digest of the first bytes of the file.
func (b *backup) add(length int64) error {
	sum := sha256.New()
	if _, err := io.Copy(sum, io.NewSectionReader(b.file, 0, length)); err != nil {
		return fmt.Errorf("cannot be read: %w", err)
	}
	b.sum = sum.Sum(nil)
	return nil
}

// dump reads what pg_dump wrote.
func (b *backup) dump() io.Reader { return io.NewSectionReader(b.file, b.from, b.to-b.from) }

// unchanged refuses a file that is not what it was when it was checked.
func (b *backup) unchanged() error {
	was := b.sum
	if err := b.add(b.to); err != nil {
		return err
	}
	if !bytes.Equal(was, b.sum) {
		return fmt.Errorf("%s changed while it was being restored", b.name)
	}
	return nil
}
