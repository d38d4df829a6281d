package fhirpath

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

type tokenKind uint8

const (
	tokenEnd tokenKind = iota
	tokenName
	tokenQuoted // an identifier in backticks
	tokenString
	tokenNumber
	tokenTime     // @2020-01-01, @T10:00
	tokenVariable // $this
	tokenSymbol
)

type token struct {
	kind tokenKind
	text string
	at   int
}

// lex splits an expression into tokens and drops white space and comments.
func lex(text string) ([]token, error) {
	if !utf8.ValidString(text) {
		return nil, fmt.Errorf("the expression is not well-formed UTF-8")
	}
	l := lexer{text: text}
	for {
		l.skip()
		if l.at >= len(text) {
			return append(l.tokens, token{kind: tokenEnd, at: l.at}), nil
		}
		if err := l.next(); err != nil {
			return nil, err
		}
	}
}

type lexer struct {
	text   string
	at     int
	tokens []token
}

func (l *lexer) skip() {
	for l.at < len(l.text) {
		rest := l.text[l.at:]
		switch {
		case strings.ContainsRune(" \t\r\n", rune(rest[0])):
			l.at++
		case strings.HasPrefix(rest, "//"):
			l.at += lengthUntil(rest, "\n", 0)
		case strings.HasPrefix(rest, "/*"):
			l.at += lengthUntil(rest[2:], "*/", 2) + 2
		default:
			return
		}
	}
}

// lengthUntil is the distance to the end mark, with the given part of the
// mark, or the length of the text without one.
func lengthUntil(text, end string, with int) int {
	if n := strings.Index(text, end); n >= 0 {
		return n + with
	}
	return len(text)
}

func (l *lexer) next() error {
	c := l.text[l.at]
	switch {
	case isLetter(c):
		l.take(tokenName, func(c byte) bool { return isLetter(c) || isDigit(c) })
	case isDigit(c):
		l.number()
	case c == '\'' || c == '`' || c == '"':
		return l.quoted(c)
	case c == '@':
		l.at++
		l.take(tokenTime, func(c byte) bool { return isDigit(c) || strings.IndexByte("-:.TZ+", c) >= 0 })
		last := &l.tokens[len(l.tokens)-1]
		if trimmed := strings.TrimRight(last.text, "."); trimmed != last.text {
			l.at -= len(last.text) - len(trimmed)
			last.text = trimmed
		}
	case c == '$':
		l.at++
		l.take(tokenVariable, isLetter)
	default:
		return l.symbol()
	}
	return nil
}

func (l *lexer) take(kind tokenKind, belongs func(byte) bool) {
	start := l.at
	for l.at < len(l.text) && belongs(l.text[l.at]) {
		l.at++
	}
	l.tokens = append(l.tokens, token{kind, l.text[start:l.at], start})
}

func (l *lexer) number() {
	start := l.at
	l.digits()
	if l.at+1 < len(l.text) && l.text[l.at] == '.' && isDigit(l.text[l.at+1]) {
		l.at++
		l.digits()
	}
	l.tokens = append(l.tokens, token{tokenNumber, l.text[start:l.at], start})
}

func (l *lexer) digits() {
	for l.at < len(l.text) && isDigit(l.text[l.at]) {
		l.at++
	}
}

// quoted reads a string, or an identifier in backticks; double quotes around
// an identifier are the syntax of an earlier FHIRPath.
func (l *lexer) quoted(quote byte) error {
	start := l.at
	l.at++
	var b strings.Builder
	for l.at < len(l.text) {
		c := l.text[l.at]
		l.at++
		switch c {
		case quote:
			kind := tokenString
			if quote != '\'' {
				kind = tokenQuoted
				if b.Len() == 0 {
					return fmt.Errorf("the name at %d is empty", start)
				}
			}
			l.tokens = append(l.tokens, token{kind, b.String(), start})
			return nil
		case '\\':
			if err := l.escape(&b); err != nil {
				return err
			}
		default:
			b.WriteByte(c)
		}
	}
	return fmt.Errorf("the string at %d has no end", start)
}

func (l *lexer) escape(b *strings.Builder) error {
	if l.at >= len(l.text) {
		return fmt.Errorf("the string has no end")
	}
	c := l.text[l.at]
	l.at++
	switch c {
	case 'n':
		b.WriteByte('\n')
	case 'r':
		b.WriteByte('\r')
	case 't':
		b.WriteByte('\t')
	case 'f':
		b.WriteByte('\f')
	case 'u':
		var r rune
		if l.at+4 > len(l.text) {
			return fmt.Errorf("\\u at %d needs four digits", l.at-2)
		}
		if _, err := fmt.Sscanf(l.text[l.at:l.at+4], "%04x", &r); err != nil {
			return fmt.Errorf("\\u at %d needs four digits", l.at-2)
		}
		l.at += 4
		b.WriteRune(r)
	case '\'', '"', '`', '\\', '/':
		b.WriteByte(c)
	default:
		// Published expressions write the backslash of a regular expression
		// once as often as twice.
		b.WriteByte('\\')
		b.WriteByte(c)
	}
	return nil
}

func (l *lexer) symbol() error {
	rest := l.text[l.at:]
	for _, s := range []string{"<=", ">=", "!=", "!~"} {
		if strings.HasPrefix(rest, s) {
			l.tokens = append(l.tokens, token{tokenSymbol, s, l.at})
			l.at += 2
			return nil
		}
	}
	if strings.IndexByte("()[]{}.,|=~<>+-*/&%", rest[0]) < 0 {
		return fmt.Errorf("unexpected %q at %d", rest[:1], l.at)
	}
	l.tokens = append(l.tokens, token{tokenSymbol, rest[:1], l.at})
	l.at++
	return nil
}

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c == '_' }
func isDigit(c byte) bool  { return c >= '0' && c <= '9' }
