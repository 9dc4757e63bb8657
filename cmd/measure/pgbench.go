package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"time"

	"github.com/google/uuid"

	"pullbook/db/local"
)

// pgbench runs the bare floor's statement without any service in between. The values come
// as they come from a service: outside the statement, which is prepared.
func pgbench(ctx context.Context, server *local.Server, outfit uuid.UUID, content string, clients int, lasting time.Duration) (perSecond float64, err error) {
	script, err := os.CreateTemp("", "insert-*.sql")
	if err != nil {
		return 0, err
	}
	defer os.Remove(script.Name())
	fmt.Fprintf(script, sqlFloorInsert+";\n", bareFloor, ":outfit", "gen_random_uuid()", "now()", ":content")
	if err := script.Close(); err != nil {
		return 0, err
	}
	out, err := exec.CommandContext(ctx, server.Binaries().Path("pgbench"), "-n", "-M", "prepared",
		"-c", strconv.Itoa(clients), "-j", "2", "-T", strconv.Itoa(max(1, int(lasting.Seconds()))),
		"-D", "outfit="+outfit.String(), "-D", "content="+content, "-f", script.Name(),
		server.URLFor(local.Superuser, "pullbook")).CombinedOutput()
	if err != nil {
		return 0, fmt.Errorf("pgbench: %w: %s", err, out)
	}
	m := transactions.FindSubmatch(out)
	if m == nil {
		return 0, fmt.Errorf("pgbench said no rate: %s", out)
	}
	return strconv.ParseFloat(string(m[1]), 64)
}

var transactions = regexp.MustCompile(`tps = ([0-9.]+)`)
