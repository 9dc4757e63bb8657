package optimum

import (
	"context"
	"errors"
	"math"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

// The solver was built for a machine with files, a clock and surroundings. It needs the
// clock alone; of all else it is told that there is none.

// clockKey is where a search's clock stands in its context.
type clockKey struct{}

// seconds is the time of the search that calls.
func seconds(ctx context.Context) float64 { return ctx.Value(clockKey{}).(func() float64)() }

const (
	badFile   = 8   // WASI's errno of a file that is not open
	noSuch    = -44 // Linux's call failed: no such file, in the builder's numbers
	noCall    = -52 // no such call
	noConsole = -59 // not a console
	page      = 65536
)

const (
	i32 = api.ValueTypeI32
	i64 = api.ValueTypeI64
	f64 = api.ValueTypeF64
)

// provide gives the program what it calls, by the builder's short names.
func provide(ctx context.Context, b wazero.HostModuleBuilder) error {
	export := func(name string, params, results []api.ValueType, f api.GoModuleFunc) {
		b.NewFunctionBuilder().WithGoModuleFunction(f, params, results).Export(name)
	}
	none := []api.ValueType{}
	export("a", ints(3), none, breaks("it threw an exception"))
	export("b", ints(1), none, breaks("it ended"))
	export("c", none, []api.ValueType{f64}, milliseconds)
	export("d", ints(1), ints(1), answers(0)) // fd_close
	export("e", ints(3), ints(1), answers(noCall))
	export("f", ints(4), ints(1), swallow)
	export("g", ints(4), ints(1), answers(badFile))
	export("h", ints(3), ints(1), answers(noConsole))
	export("i", ints(4), ints(1), answers(noSuch))
	export("j", none, []api.ValueType{f64}, milliseconds)
	export("k", none, none, breaks("it gave up"))
	export("l", []api.ValueType{i32, f64}, ints(1), answers(0)) // an alarm that never rings
	export("m", ints(4), none, ignore)                          // the time zone
	export("n", ints(2), ints(1), answers(0))                   // no surroundings
	export("o", ints(2), ints(1), noSurroundings)
	export("p", []api.ValueType{i32, i64, i32}, ints(1), nanoseconds)
	export("q", ints(1), ints(1), grow)
	export("r", ints(1), none, breaks("it ended"))
	export("s", none, none, ignore)
	export("t", []api.ValueType{i32, i64, i32, i32}, ints(1), answers(badFile))
	_, err := b.Instantiate(ctx)
	return err
}

func ints(n int) []api.ValueType {
	out := make([]api.ValueType, n)
	for i := range out {
		out[i] = i32
	}
	return out
}

func ignore(context.Context, api.Module, []uint64) {}

func answers(v int32) api.GoModuleFunc {
	return func(_ context.Context, _ api.Module, stack []uint64) { stack[0] = api.EncodeI32(v) }
}

// breaks ends the search; wazero turns the panic into an error of the call.
func breaks(how string) api.GoModuleFunc {
	return func(context.Context, api.Module, []uint64) { panic(errors.New("the solver broke down: " + how)) }
}

func milliseconds(ctx context.Context, _ api.Module, stack []uint64) {
	stack[0] = math.Float64bits(1000 * seconds(ctx))
}

func nanoseconds(ctx context.Context, m api.Module, stack []uint64) {
	m.Memory().WriteUint64Le(uint32(stack[2]), uint64(1e9*seconds(ctx)))
	stack[0] = 0
}

// swallow takes what the solver says, and says that it was written.
func swallow(_ context.Context, m api.Module, stack []uint64) {
	pieces, n, written := uint32(stack[1]), uint32(stack[2]), uint32(stack[3])
	var all uint32
	for i := range n {
		length, _ := m.Memory().ReadUint32Le(pieces + 8*i + 4)
		all += length
	}
	m.Memory().WriteUint32Le(written, all)
	stack[0] = 0
}

func noSurroundings(_ context.Context, m api.Module, stack []uint64) {
	m.Memory().WriteUint32Le(uint32(stack[0]), 0)
	m.Memory().WriteUint32Le(uint32(stack[1]), 0)
	stack[0] = 0
}

// grow gives the solver more memory: a fifth more than it has, so that it seldom asks, and
// what it asks for at the least. It answers 1, or 0 where that is more than a search may take.
func grow(_ context.Context, m api.Module, stack []uint64) {
	want, have := uint32(stack[0]), m.Memory().Size()
	stack[0] = 0
	if want <= have {
		stack[0] = 1
		return
	}
	least := (want - have + page - 1) / page
	for _, pages := range []uint32{max(least, have/5/page), least} {
		if _, ok := m.Memory().Grow(pages); ok {
			stack[0] = 1
			return
		}
	}
}
