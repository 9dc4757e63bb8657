package optimum

import (
	"context"
	_ "embed"
	"encoding/binary"
	"fmt"
	"math"
	"runtime/debug"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
)

// program is the solver, as npm package highs 1.15.3 ships it.
//
//go:embed highs/highs.wasm
var program []byte

// What the program calls its functions: its builder shortens the names, and another build
// has others. Names and arguments of the functions are HiGHS's C interface
// (highs_c_api.h); highs/README.md says how the short ones were found.
const (
	fnStart     = "v"  // constructors, once
	fnCreate    = "F"  // Highs_create
	fnVersion   = "H"  // Highs_version
	fnPass      = "V"  // Highs_passMip
	fnRun       = "N"  // Highs_run
	fnStatus    = "Ga" // Highs_getModelStatus
	fnSolution  = "Ea" // Highs_getSolution
	fnCost      = "Ka" // Highs_getObjectiveValue
	fnSetBool   = "ia" // Highs_setBoolOptionValue
	fnSetInt    = "ja" // Highs_setIntOptionValue
	fnSetFloat  = "ka" // Highs_setDoubleOptionValue
	fnSetText   = "la" // Highs_setStringOptionValue
	fnGetInt    = "Aa" // Highs_getIntInfoValue
	fnGetDouble = "Ba" // Highs_getDoubleInfoValue
	fnAllocate  = "uc" // malloc
)

// primalFeasible is HiGHS's kHighsSolutionStatusFeasible.
const primalFeasible = 2

// mostPages bounds what one search may take, in pages of 64 KiB: 256 MiB.
const mostPages = 4096

// compiled is the solver in the machine's own code, made once, which takes a second or two.
var compiled = sync.OnceValues(func() (wazero.CompiledModule, error) {
	module, err := runtime().CompileModule(context.Background(), program)
	if err != nil {
		return nil, fmt.Errorf("optimum: compile the solver: %w", err)
	}
	debug.FreeOSMemory() // making it takes some 240 MB, and keeping it 10
	return module, nil
})

var runtime = sync.OnceValue(func() wazero.Runtime {
	ctx := context.Background()
	r := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfig().WithMemoryLimitPages(mostPages))
	if err := provide(ctx, r.NewHostModuleBuilder("a")); err != nil {
		panic(err) // the names below are at fault, not the machine
	}
	return r
})

// Ready makes the solver, which takes a second or two the first time. Whoever searches by a clock
// calls it before the clock starts.
func Ready() error {
	_, err := compiled()
	return err
}

// Version is the solver's own version.
func Version() (string, error) {
	s, err := newSolver(nil)
	if err != nil {
		return "", err
	}
	defer s.close()
	at := s.call(fnVersion)
	text, _ := s.module.Memory().Read(uint32(at), 16)
	for i, b := range text {
		if b == 0 {
			return string(text[:i]), nil
		}
	}
	return string(text), nil
}

// solver is one search's own copy of the solver's memory.
type solver struct {
	ctx    context.Context
	module api.Module
	highs  uint64
}

// brokenDown is thrown where the solver itself gives up, such as for want of memory.
type brokenDown struct{ error }

func newSolver(clock func() float64) (s *solver, err error) {
	code, err := compiled()
	if err != nil {
		return nil, err
	}
	if clock == nil {
		clock = func() float64 { return 0 }
	}
	ctx := context.WithValue(context.Background(), clockKey{}, clock)
	module, err := runtime().InstantiateModule(ctx, code, wazero.NewModuleConfig().WithName(""))
	if err != nil {
		return nil, fmt.Errorf("optimum: start the solver: %w", err)
	}
	s = &solver{ctx: ctx, module: module}
	defer func() {
		if r := recover(); r != nil {
			s.close()
			s, err = nil, fmt.Errorf("optimum: start the solver: %v", r)
		}
	}()
	s.call(fnStart)
	s.highs = s.call(fnCreate)
	return s, nil
}

// close gives the solver's memory back.
func (s *solver) close() { _ = s.module.Close(s.ctx) }

// call calls a function of the program.
func (s *solver) call(name string, args ...uint64) uint64 {
	out, err := s.module.ExportedFunction(name).Call(s.ctx, args...)
	if err != nil {
		panic(brokenDown{err})
	}
	if len(out) == 0 {
		return 0
	}
	return out[0]
}

func (s *solver) callFloat(name string, args ...uint64) float64 {
	return math.Float64frombits(s.call(name, args...))
}

// option sets an option by its name in HiGHS.
func (s *solver) option(name string, value any) {
	at := s.text(name)
	switch v := value.(type) {
	case bool:
		on := uint64(0)
		if v {
			on = 1
		}
		s.call(fnSetBool, s.highs, at, on)
	case int:
		s.call(fnSetInt, s.highs, at, uint64(uint32(v)))
	case string:
		s.call(fnSetText, s.highs, at, s.text(v))
	case float64:
		s.call(fnSetFloat, s.highs, at, math.Float64bits(v))
	}
}

// info reads a count that HiGHS keeps of a search, double a figure.
func (s *solver) info(name string) int {
	at := s.room(1)
	s.call(fnGetInt, s.highs, s.text(name), at)
	v, _ := s.module.Memory().ReadUint32Le(uint32(at))
	return int(int32(v))
}

func (s *solver) double(name string) float64 {
	at := s.room(1)
	s.call(fnGetDouble, s.highs, s.text(name), at)
	return s.floats(at, 1)[0]
}

// The two ways of HiGHS to say so: of a matrix by columns, and of costs to be made small.
const (
	byColumn = 1
	minimise = 1
)

// pass hands the problem over, its terms by variable.
func (s *solver) pass(p *Problem) {
	columns := make([][]Term, len(p.Variables)) // of each variable, in which limits it stands
	low, high := make([]float64, len(p.Limits)), make([]float64, len(p.Limits))
	terms := 0
	for i, l := range p.Limits {
		low[i], high[i] = l.Low, l.High
		for _, t := range l.Terms {
			columns[t.Variable] = append(columns[t.Variable], Term{i, t.Factor})
			terms++
		}
	}
	n := len(p.Variables)
	cost, from, to, whole := make([]float64, n), make([]float64, n), make([]float64, n), make([]int32, n)
	starts, rows, factors := make([]int32, n), make([]int32, 0, terms), make([]float64, 0, terms)
	for i, v := range p.Variables {
		cost[i], from[i], to[i] = v.Cost, v.Low, v.High
		if v.Whole {
			whole[i] = 1
		}
		starts[i] = int32(len(rows))
		for _, t := range columns[i] {
			rows, factors = append(rows, int32(t.Variable)), append(factors, t.Factor)
		}
	}
	s.call(fnPass, s.highs, uint64(n), uint64(len(p.Limits)), uint64(terms), byColumn, minimise, math.Float64bits(0),
		s.putFloats(cost), s.putFloats(from), s.putFloats(to), s.putFloats(low), s.putFloats(high),
		s.putInts(starts), s.putInts(rows), s.putFloats(factors), s.putInts(whole))
}

// room takes memory for n figures; the whole of it goes with the solver.
func (s *solver) room(n int) uint64 {
	at := s.call(fnAllocate, uint64(8*max(1, n)))
	if at == 0 {
		panic(brokenDown{fmt.Errorf("no room for %d figures", n)})
	}
	return at
}

func (s *solver) text(text string) uint64 {
	at := s.room(len(text)/8 + 1)
	s.module.Memory().Write(uint32(at), append([]byte(text), 0))
	return at
}

func (s *solver) putFloats(v []float64) uint64 {
	at := s.room(len(v))
	raw := make([]byte, 0, 8*len(v))
	for _, x := range v {
		raw = binary.LittleEndian.AppendUint64(raw, math.Float64bits(x))
	}
	s.module.Memory().Write(uint32(at), raw)
	return at
}

func (s *solver) putInts(v []int32) uint64 {
	at := s.room(len(v)/2 + 1)
	raw := make([]byte, 0, 4*len(v))
	for _, x := range v {
		raw = binary.LittleEndian.AppendUint32(raw, uint32(x))
	}
	s.module.Memory().Write(uint32(at), raw)
	return at
}

func (s *solver) floats(at uint64, n int) []float64 {
	raw, _ := s.module.Memory().Read(uint32(at), uint32(8*n))
	out := make([]float64, n)
	for i := range out {
		out[i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
	}
	return out
}
