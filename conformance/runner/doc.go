// Package runner puts test vectors to an implementation under test and gives verdicts, in the words of ISO/IEC 9646.
package runner
