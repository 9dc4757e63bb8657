package main

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/compose-spec/compose-go/v2/loader"
	"github.com/compose-spec/compose-go/v2/types"
)

// compose.yaml cannot be started in a test, since there is no container engine:
// it is read with the parser of the Compose specification, which knows its
// schema, and held against what it has to be.
func loadCompose(ctx context.Context, environment types.Mapping) (*types.Project, error) {
	path, err := filepath.Abs("../../compose.yaml")
	if err != nil {
		return nil, err
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return loader.LoadWithContext(ctx, types.ConfigDetails{
		WorkingDir:  filepath.Dir(path),
		ConfigFiles: []types.ConfigFile{{Filename: path, Content: text}},
		Environment: environment,
	})
}

func TestComposeHasNoDefaultSecret(t *testing.T) {
	t.Parallel()
	for _, environment := range []types.Mapping{{}, {"PULLBOOK_DB_PASSWORD": ""}} {
		if _, err := loadCompose(t.Context(), environment); err == nil || !strings.Contains(err.Error(), "PULLBOOK_DB_PASSWORD") {
			t.Errorf("with %v compose.yaml gives %v, and the missing password is to be named", environment, err)
		}
	}
}

func TestComposeRunsTheServiceBesidePostgreSQL(t *testing.T) {
	t.Parallel()
	project, err := loadCompose(t.Context(), types.Mapping{"PULLBOOK_DB_PASSWORD": "fromthetest"})
	if err != nil {
		t.Fatal(err)
	}
	postgres, service, migrate := project.Services["postgres"], project.Services["pullbook"], project.Services["migrate"]

	if len(postgres.Ports) != 0 {
		t.Error("the database can be reached from outside")
	}
	if !slices.ContainsFunc(postgres.Volumes, func(v types.ServiceVolumeConfig) bool {
		return v.Type == types.VolumeTypeVolume && v.Source == "books" && v.Target == "/var/lib/postgresql/data"
	}) {
		t.Error("the database's rows are in no volume")
	}
	if _, ok := project.Volumes["books"]; !ok {
		t.Error("the volume books is not declared")
	}
	for name, s := range map[string]types.ServiceConfig{"postgres": postgres, "pullbook": service} {
		if s.HealthCheck == nil || len(s.HealthCheck.Test) < 2 || s.HealthCheck.Test[0] != "CMD" {
			t.Errorf("%s has no health check", name)
		}
	}
	if got := service.DependsOn["migrate"].Condition; got != types.ServiceConditionCompletedSuccessfully {
		t.Errorf("the service starts when migrate is %q", got)
	}
	if got := migrate.DependsOn["postgres"].Condition; got != types.ServiceConditionHealthy {
		t.Errorf("the schema is changed when the database is %q", got)
	}
	for _, port := range service.Ports {
		if port.HostIP != "127.0.0.1" {
			t.Errorf("the port is open to %q without TLS", port.HostIP)
		}
	}
	for name, s := range map[string]types.ServiceConfig{"pullbook": service, "migrate": migrate} {
		if s.User != "65532:65532" || !s.ReadOnly || !slices.Equal(s.CapDrop, []string{"ALL"}) {
			t.Errorf("%s runs as %q, read-only %v, without the capabilities %v", name, s.User, s.ReadOnly, s.CapDrop)
		}
	}
}

// What compose.yaml tells the program to do are things that it can do.
func TestComposeSpeaksTheProgramsLanguage(t *testing.T) {
	t.Parallel()
	project, err := loadCompose(t.Context(), types.Mapping{"PULLBOOK_DB_PASSWORD": "fromthetest"})
	if err != nil {
		t.Fatal(err)
	}
	service := project.Services["pullbook"]
	for _, args := range [][]string{service.Command, project.Services["migrate"].Command, service.HealthCheck.Test[2:]} {
		parser, err := newParser()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := parser.Parse(args); err != nil {
			t.Errorf("pullbook %s: %v", strings.Join(args, " "), err)
		}
	}
	known := map[string]bool{}
	all, _ := settings(t)
	for _, s := range all {
		for _, variable := range s.flag.Envs {
			known[variable] = true
		}
	}
	for variable := range service.Environment {
		if !known[variable] {
			t.Errorf("the program knows no variable %s", variable)
		}
	}
}

// The image has PostgreSQL's programs of the server's version, which backups take, and an account with a name, since
// PostgreSQL starts for no other.
func TestTheImageHasWhatABackupTakesAndIsNotRoots(t *testing.T) {
	t.Parallel()
	project, err := loadCompose(t.Context(), types.Mapping{"PULLBOOK_DB_PASSWORD": "fromthetest"})
	if err != nil {
		t.Fatal(err)
	}
	recipe := project.Services["pullbook"].Build.DockerfileInline
	stages := strings.Split(recipe, "FROM ")
	last := stages[len(stages)-1]
	if server := project.Services["postgres"].Image; !strings.HasPrefix(last, server+"\n") {
		t.Errorf("the image is built from %q, and the server from %s", last, server)
	}
	if !regexp.MustCompile(`(?m)^USER [1-9]\d*:[1-9]\d*$`).MatchString(last) {
		t.Error("the image runs as root")
	}
	if named := strings.Index(last, "useradd --uid 65532 "); named < 0 || named > strings.Index(last, "USER 65532:65532") {
		t.Error("the account has no name")
	}
	if !strings.Contains(recipe, "CGO_ENABLED=0") {
		t.Error("the program is not static, and another C library may be in the image")
	}
}

// Backups go into a volume of their own, which belongs to the service's account, also before a new schema. What they are
// checked in is gone with the container.
func TestComposeMakesBackups(t *testing.T) {
	t.Parallel()
	project, err := loadCompose(t.Context(), types.Mapping{"PULLBOOK_DB_PASSWORD": "fromthetest"})
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := project.Volumes["backups"]; !ok {
		t.Error("the volume backups is not declared")
	}
	for _, name := range []string{"pullbook", "migrate"} {
		s := project.Services[name]
		to := s.Environment["PULLBOOK_BACKUP_TO"]
		if to == nil || !slices.ContainsFunc(s.Volumes, func(v types.ServiceVolumeConfig) bool {
			return v.Type == types.VolumeTypeVolume && v.Source == "backups" && v.Target == *to && !v.ReadOnly
		}) {
			t.Errorf("%s makes backups into %v, and has the volumes %v", name, to, s.Volumes)
		}
		if !slices.Equal(s.Tmpfs, []string{"/tmp:mode=1777"}) {
			t.Errorf("%s has %v to check backups in", name, s.Tmpfs)
		}
	}
	if recipe := project.Services["pullbook"].Build.DockerfileInline; !strings.Contains(recipe, "--owner=65532 --group=65532 --mode=0700 "+*project.Services["pullbook"].Environment["PULLBOOK_BACKUP_TO"]+"\n") {
		t.Error("the folder of the backups does not belong to the service's account")
	}
	if server := project.Services["postgres"]; slices.ContainsFunc(server.Volumes, func(v types.ServiceVolumeConfig) bool { return v.Source == "backups" }) {
		t.Error("the database's server can reach the backups")
	}
}
