package export

import "context"

// Progress is how far reading and checking a log is. While it is read, all is 0.
type Progress struct {
	Rows         int // read
	Sessions, Of int // checked, and to check
	Resources    int // checked
}

type watchKey struct{}

// WithWatch returns a context under which watch receives the progress of reading
// and checking a log, after each session.
func WithWatch(ctx context.Context, watch func(Progress)) context.Context {
	return context.WithValue(ctx, watchKey{}, watch)
}

// WatchOf returns the watch of a context, which is never nil.
func WatchOf(ctx context.Context) func(Progress) {
	if watch, ok := ctx.Value(watchKey{}).(func(Progress)); ok {
		return watch
	}
	return func(Progress) {}
}
