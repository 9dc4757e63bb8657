package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	manager "github.com/kardianos/service"
)

const (
	serviceName = "pullbook"
	systemdUnit = "/etc/systemd/system/" + serviceName + ".service"
)

// managed is the service as the machine's own manager of services knows it.
type managed struct{ manager.Service }

// nothing is what the manager would run inside this program: it runs another.
type nothing struct{}

func (nothing) Start(manager.Service) error { return nil }
func (nothing) Stop(manager.Service) error  { return nil }

func (i *installation) service() (*managed, error) {
	config := &manager.Config{
		Name: serviceName, DisplayName: serviceName, Description: "pullbook, the book of a honey house",
		UserName: i.account, Executable: installedProgram, Arguments: []string{"serve"},
		Option: manager.KeyValue{"SystemdScript": i.unit(), "RunAtLoad": true},
	}
	if manager.Platform() != "linux-systemd" {
		config.EnvVars = i.env // systemd reads the file by itself
	}
	s, err := manager.New(nothing{}, config)
	if errors.Is(err, manager.ErrNoServiceSystemDetected) {
		return nil, errors.New("this machine has no manager of services that the program knows, such as systemd: have whatever starts programs here run `pullbook serve`")
	}
	return &managed{s}, err
}

// there reports whether the service is installed.
func (m *managed) there() bool {
	if m.Platform() == "linux-systemd" {
		_, err := os.Stat(systemdUnit)
		return err == nil
	}
	_, err := m.Status()
	return !errors.Is(err, manager.ErrNotInstalled)
}

func (m *managed) install() error {
	if err := m.Install(); err != nil {
		return fmt.Errorf("the service cannot be made: %w", err)
	}
	return nil
}

// installAgain makes the service as this program makes it.
func (m *managed) installAgain() error {
	if err := m.Uninstall(); err != nil {
		return err
	}
	return m.install()
}

// startAndAwait starts the service and returns when it is ready to record. Address is where
// it is reached from here.
func (m *managed) startAndAwait(ctx context.Context, address string, within time.Duration) error {
	if err := m.Start(); err != nil {
		return err
	}
	health := healthCommand{Addr: address, Within: 3 * time.Second}
	for deadline := time.Now().Add(within); ; {
		err := health.Run(ctx, &terminal{Out: io.Discard, Err: io.Discard})
		if err == nil {
			return nil
		}
		if time.Now().After(deadline) {
			return fmt.Errorf("after %v %w. Its log says why: %s", within, err, m.log())
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// log is how to read what the service logs.
func (m *managed) log() string {
	if m.Platform() == "linux-systemd" {
		return "journalctl -u " + serviceName
	}
	return "where " + m.Platform() + " keeps it"
}

// unit is the service for systemd, in the words of systemd.exec(5) and its neighbours; the
// service manager's library fills in what stands in double braces. The service sees the book,
// the folders of backups and places for sticks; the rest of the machine it reads or does not
// see at all.
func (i *installation) unit() string {
	var write []string
	if i.data != "" {
		write = append(write, unitPath(i.data))
	}
	for _, folder := range slices.Concat(sticks, i.backups) {
		if !slices.Contains(sticks, folder) && onStick(folder) {
			continue
		}
		write = append(write, "-"+unitPath(folder)) // it may not be there now
	}
	capabilities := ""
	if i.lowPort {
		capabilities = "CAP_NET_BIND_SERVICE"
	}
	return `[Unit]
Description={{Description}}
After=network.target local-fs.target remote-fs.target
StartLimitIntervalSec=0

[Service]
ExecStart={{Path | cmdEscape}}{{range Arguments}} {{. | cmd}}{{end}}
User={{UserName}}
EnvironmentFile=` + settingsFile + `
Restart=always
RestartSec=2
KillMode=mixed
TimeoutStopSec=60
UMask=0077

# A backup's audit that takes too much memory ends alone, and the machine stays usable.
MemoryHigh=70%
MemoryMax=80%
OOMPolicy=continue
TasksMax=1024
LimitNOFILE=65536

ReadWritePaths=` + strings.Join(write, " ") + `
ProtectSystem=strict
ProtectHome=yes
PrivateTmp=yes
PrivateDevices=yes
ProtectClock=yes
ProtectControlGroups=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
ProtectProc=invisible
NoNewPrivileges=yes
CapabilityBoundingSet=` + capabilities + `
AmbientCapabilities=` + capabilities + `
RestrictAddressFamilies=AF_UNIX AF_INET AF_INET6 AF_NETLINK
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallErrorNumber=EPERM

[Install]
WantedBy=multi-user.target
`
}

// unitPath is a path as a list of paths in a unit has it.
func unitPath(path string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "%", "%%").Replace(filepath.Clean(path)) + `"`
}
