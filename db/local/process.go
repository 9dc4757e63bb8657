package local

import (
	"io"
	"os/exec"
	"runtime"
	"syscall"
	"time"
)

// process is a program of PostgreSQL that runs as the account and does not
// outlive this program.
type process struct {
	cmd  *exec.Cmd
	done chan struct{} // closed when the process has ended
	err  error         // how it ended; read after done
}

// spawn starts program in dir and sends it atDeath should this program die.
func (a *account) spawn(bin Binaries, dir string, log io.Writer, atDeath syscall.Signal, program string, args ...string) (*process, error) {
	cmd := exec.Command(bin.Path(program), args...)
	cmd.Dir = dir
	// Nothing of the program's environment may change what the server does.
	cmd.Env = []string{"PATH=" + bin.Dir + ":/usr/bin:/bin", "HOME=" + dir, "LC_ALL=C", "TZ=UTC"}
	cmd.Stdout, cmd.Stderr = log, log
	cmd.SysProcAttr = a.attributes()
	endWithParent(cmd.SysProcAttr, atDeath)
	// Sessions of a killed server may hold its log open a little longer.
	cmd.WaitDelay = time.Second

	p := &process{cmd: cmd, done: make(chan struct{})}
	started := make(chan error)
	go func() {
		// The kernel takes the end of this thread for the death of the program,
		// so the thread waits as long as the process lives.
		runtime.LockOSThread()
		err := cmd.Start()
		started <- err
		if err == nil {
			p.err = cmd.Wait()
			close(p.done)
		}
	}()
	if err := <-started; err != nil {
		return nil, err
	}
	return p, nil
}

func (p *process) pid() int { return p.cmd.Process.Pid }

// signal sends sig. That the process has already ended is no error: done says so.
func (p *process) signal(sig syscall.Signal) { _ = p.cmd.Process.Signal(sig) }
