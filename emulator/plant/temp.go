package plant

import "fmt"

// Temp is a temperature, or a difference of two, in thousandths of a degree Celsius.
type Temp int32

// Celsius is one degree: 20*Celsius is 20 °C.
const Celsius Temp = 1000

// String returns degrees with one decimal, such as "20.5 °C".
func (t Temp) String() string {
	sign := ""
	if t < 0 {
		sign, t = "-", -t
	}
	tenths := (t + 50) / 100
	return fmt.Sprintf("%s%d.%d °C", sign, tenths/10, tenths%10)
}
