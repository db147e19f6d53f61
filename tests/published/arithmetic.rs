//! A small evaluator, so that the numbers printed in a step can be checked.

/// Value of an expression as the steps print it; angles may end in `deg`.
pub fn evaluate(text: &str) -> Result<f64, String> {
    let mut parser = Parser { rest: text };
    let value = parser.sum()?;
    if parser.rest.trim().is_empty() {
        Ok(value)
    } else {
        Err(format!("left over: {}", parser.rest))
    }
}

type Function = fn(f64) -> f64;

struct Parser<'a> {
    rest: &'a str,
}

impl Parser<'_> {
    fn eat(&mut self, token: &str) -> bool {
        let rest = self.rest.trim_start();
        match rest.strip_prefix(token) {
            Some(after) => {
                self.rest = after;
                true
            }
            None => false,
        }
    }

    fn sum(&mut self) -> Result<f64, String> {
        let mut value = self.product()?;
        loop {
            if self.eat("+") {
                value += self.product()?;
            } else if self.eat("-") {
                value -= self.product()?;
            } else {
                return Ok(value);
            }
        }
    }

    fn product(&mut self) -> Result<f64, String> {
        let mut value = self.power()?;
        loop {
            if self.eat("*") {
                value *= self.power()?;
            } else if self.eat("/") {
                value /= self.power()?;
            } else {
                return Ok(value);
            }
        }
    }

    fn power(&mut self) -> Result<f64, String> {
        if self.eat("-") {
            return Ok(-self.power()?);
        }
        let mut base = self.atom()?;
        if self.eat("deg") {
            base = base.to_radians();
        }
        if self.eat("^") { Ok(base.powf(self.power()?)) } else { Ok(base) }
    }

    fn atom(&mut self) -> Result<f64, String> {
        if self.eat("(") {
            let value = self.sum()?;
            return if self.eat(")") { Ok(value) } else { Err("no )".to_owned()) };
        }
        if self.eat("pi") {
            return Ok(std::f64::consts::PI);
        }
        let functions: [(&str, Function); 9] = [
            ("sqrt(", f64::sqrt),
            ("asin(", f64::asin),
            ("acos(", f64::acos),
            ("atan(", f64::atan),
            ("sin(", f64::sin),
            ("cos(", f64::cos),
            ("tan(", f64::tan),
            ("ln(", f64::ln),
            ("ceil(", f64::ceil),
        ];
        for (name, function) in functions {
            if self.eat(name) {
                let value = self.sum()?;
                return if self.eat(")") { Ok(function(value)) } else { Err("no )".to_owned()) };
            }
        }
        if self.eat("min(") {
            let a = self.sum()?;
            let comma = self.eat(",");
            let b = self.sum()?;
            return if comma && self.eat(")") { Ok(a.min(b)) } else { Err("min(a, b)".to_owned()) };
        }
        let rest = self.rest.trim_start();
        let mut end = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
        if rest[end..].starts_with('e') {
            let tail = rest[end + 1..].trim_start_matches('-');
            let digits = tail.find(|c: char| !c.is_ascii_digit()).unwrap_or(tail.len());
            end = rest.len() - tail.len() + digits;
        }
        let value = rest[..end].parse().map_err(|_| format!("no number at `{rest}`"))?;
        self.rest = &rest[end..];
        Ok(value)
    }
}

#[test]
fn evaluator_knows_the_rules() {
    let cases = [
        ("1 + 2 * 3", 7.0),
        ("2 * 3^2", 18.0),
        ("-2^2", -4.0),
        ("(-2)^2", 4.0),
        ("sin(30 deg) + min(1, 2)", 1.5),
        ("1.5e-3 * 2", 0.003),
        ("8 / 2 / 2", 2.0),
        ("10 - 3 - 2", 5.0),
        ("92^((36 - 36) / 39)", 1.0),
    ];
    for (text, want) in cases {
        let have = evaluate(text).unwrap();
        assert!((have - want).abs() < 1e-12, "{text} = {have}");
    }
    assert!(evaluate("1 +").is_err() && evaluate("x").is_err());
}
