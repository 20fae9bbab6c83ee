// This program does what needs the tables of functions: it panics in all ways,
// grows and shrinks stacks, collects what lies on them, and calls by
// reflection. It ends with a crash.
package main

import (
	"errors"
	"fmt"
	"os"
	"reflect"
	"runtime"
	"runtime/debug"
	"sort"
	"strings"
)

type shape interface{ Area() float64 }
type square struct{ side float64 }

func (s square) Area() float64 { return s.side * s.side }

type tree struct {
	left, right *tree
	v           int
}

func grow(d int) *tree {
	if d == 0 {
		return &tree{v: 1}
	}
	return &tree{grow(d - 1), grow(d - 1), d}
}
func (t *tree) sum() int {
	if t == nil {
		return 0
	}
	return t.v + t.left.sum() + t.right.sum()
}

func try(name string, f func()) {
	defer func() {
		r := recover()
		var re runtime.Error
		if err, ok := r.(error); ok && errors.As(err, &re) {
			fmt.Println(name, "runtime error:", re)
			return
		}
		fmt.Println(name, r)
	}()
	f()
}

func deep(n int) int {
	var pad [64]int
	pad[n%64] = n
	if n == 0 {
		return 0
	}
	return deep(n-1) + pad[n%64] - n + 1
}

func main() {
	debug.SetTraceback("system") // with program counters
	var p *square
	var s shape = p
	try("wrapper", func() { s.Area() })
	try("index", func() { a := []int{1}; i := len(os.Args) + 5; _ = a[i] })
	try("slice", func() { a := []int{1}; i := len(os.Args) + 5; _ = a[i:] })
	try("nil map", func() { var m map[string]int; m["a"] = 1 })
	try("conversion", func() { var x any = 7; _ = x.(string) })
	try("divide", func() { z := len(os.Args) - len(os.Args); fmt.Println(1 / z) })
	try("own", func() { panic(fmt.Errorf("own %d", 7)) })
	try("nested", func() {
		defer func() { fmt.Println("inner", recover()); panic("again") }()
		panic("first")
	})
	try("exit", func() {
		done := make(chan bool)
		go func() { defer close(done); runtime.Goexit() }()
		<-done
		fmt.Println("went")
	})
	total := 0
	for i := range 20 {
		t := grow(12)
		if i%5 == 0 {
			runtime.GC()
		}
		total += t.sum()
	}
	fmt.Println("trees", total, "deep", deep(700))
	c := make(chan int)
	for i := range 50 {
		go func() { t := grow(8); runtime.Gosched(); c <- t.sum() + i }()
	}
	x := 0
	for range 50 {
		x += <-c
	}
	fmt.Println("goroutines", x)
	f := reflect.MakeFunc(reflect.TypeOf(func(int, string) string { return "" }), func(in []reflect.Value) []reflect.Value {
		runtime.GC()
		_ = grow(10)
		return []reflect.Value{reflect.ValueOf(strings.Repeat(in[1].String(), int(in[0].Int())))}
	})
	fmt.Println("made", f.Interface().(func(int, string) string)(3, "ab"))
	m := reflect.ValueOf(square{3}).Method(0).Interface().(func() float64)
	runtime.GC()
	fmt.Println("method value", m())
	for range reflect.TypeOf(square{}).NumMethod() {
		fmt.Println(reflect.TypeOf(square{}).Method(0).Name)
	}
	words := strings.Fields("the level drops and shucks stand on damp stones")
	sort.Strings(words)
	fmt.Println(words)
	fmt.Println("callers:", runtime.Callers(0, make([]uintptr, 9)) > 2)
	defer fmt.Println("deferred before the end")
	var q *tree
	fmt.Println(q.v)
}
